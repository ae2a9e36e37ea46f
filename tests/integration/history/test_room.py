"""The room of an object's history, as people use it: reading, asking why, setting aside."""

from typing import Any

import pytest
from django.test import Client
from procrastinate import testing
from procrastinate.contrib.django import app, procrastinate_app
from procrastinate.contrib.django.models import ProcrastinateJob
from pytest_django import DjangoCaptureOnCommitCallbacks

from records.choices import Family, Role, Seen, StatementKind, Strength, Trust
from records.models import Effect, Face, Object, Reconstruction, Relation, SetAside, Trace
from records.reconstruction import store
from records.reconstruction.gather import gather
from tests import builders
from tests.integration.history.test_gather import state

pytestmark = pytest.mark.django_db


@pytest.fixture
def item() -> Object:
    return builders.canvas(date="1911")


@pytest.fixture
def recto(item: Object) -> Face:
    return builders.face(item)


@pytest.fixture
def patch(item: Object, recto: Face) -> Trace:
    """A patch over a tear, put on in a lining of 1951 to 1952; the tear is not on a photograph."""
    tear = builders.trace(recto, builders.trace_kind("tear"), label="tear, lower left")
    kind = builders.trace_kind("patch", Family.INTERVENTION)
    patch = builders.trace(recto, kind, label="canvas patch")
    builders.recorded(Relation, upper=patch, lower=tear)
    builders.recorded(Effect, treatment=builders.treatment(item), trace=patch)
    photograph = builders.photograph(item, "1924")
    builders.sighting(tear, image=photograph, outcome=Seen.NOT_SEEN)
    return patch


def signed_in(role: Role = Role.CONSERVATOR) -> Client:
    client = Client()
    client.force_login(builders.user(role))
    return client


def worked_out(item: Object) -> None:
    list(store.compute(item))


def page(client: Client, item: Object, path: str = "", **query: Any) -> str:
    answer = client.get(f"/objects/{item.pk}/history/{path}", query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_it_works(item: Object, patch: Trace) -> None:
    worked_out(item)
    text = page(signed_in(), item)
    assert "canvas patch" in text
    assert "Glue-paste lining" in text
    assert 'class="certain"' in text
    assert 'id="history-progress"' not in text


def test_an_empty_object_gets_a_page(item: Object) -> None:
    worked_out(item)
    assert "Nothing to draw here" in page(signed_in(), item)


@pytest.mark.parametrize("path", ["", "bounds", "contradictions", "trust", "set-aside"])
def test_every_page_of_the_room_opens(item: Object, patch: Trace, path: str) -> None:
    client = signed_in()
    page(client, item, path)
    worked_out(item)
    page(client, item, path)


def test_committee_members_stay_outside(item: Object) -> None:
    client = signed_in(Role.COMMITTEE)
    assert client.get(f"/objects/{item.pk}/history/").status_code == 403


def test_why_is_told_with_links_to_the_records(item: Object, patch: Trace) -> None:
    worked_out(item)
    text = page(signed_in(), item, f"grounds/trace:{patch.pk}")
    lining = item.treatments.get()
    assert "was made between 1 March 1951 and 31 December 1952" in text
    assert f'href="/treatments/{lining.pk}/"' in text
    assert f'data-trace="{patch.pk}"' in text
    assert f"treatment:{lining.pk}" in text.split('data-bears="')[1].split('"')[0]


def test_asking_after_something_unknown_is_not_found(item: Object, patch: Trace) -> None:
    worked_out(item)
    assert signed_in().get(f"/objects/{item.pk}/history/grounds/trace:0").status_code == 404


class TestFilters:
    def test_by_family(self, item: Object, patch: Trace) -> None:
        worked_out(item)
        text = page(signed_in(), item, "bounds", show="alteration")
        assert "tear, lower left" in text
        assert "canvas patch" not in text

    def test_by_kind(self, item: Object, patch: Trace) -> None:
        worked_out(item)
        text = page(signed_in(), item, "bounds", kind=patch.kind_id, show="intervention")
        assert "canvas patch" in text

    def test_by_zone(self, item: Object, recto: Face) -> None:
        from django.contrib.gis.geos import Polygon

        from records.models import Zone

        inside, outside = (builders.trace(recto, label=label) for label in ("near", "far"))
        builders.sighting(inside, "POLYGON((10 10, 20 10, 20 20, 10 10))")
        builders.sighting(outside, "POLYGON((510 10, 520 10, 520 20, 510 10))")
        zone = builders.recorded(
            Zone, face=recto, name="left", geometry=Polygon.from_bbox((0, 0, 100, 100))
        )
        worked_out(item)
        text = page(signed_in(), item, "bounds", zone=zone.pk)
        assert "near" in text
        assert "far</th>" not in text

    def test_by_days(self, item: Object, patch: Trace) -> None:
        worked_out(item)
        text = page(signed_in(), item, first="1960-01-01", last="1970-12-31")
        assert "Glue-paste lining: " not in text
        assert "canvas patch: " in text

    def test_an_unusable_choice_shows_everything(self, item: Object, patch: Trace) -> None:
        worked_out(item)
        text = page(signed_in(), item, kind="x", zone="-1", first="soon", width="wide", trust="?")
        assert "canvas patch" in text


class TestStaleness:
    def test_a_changed_record_makes_the_page_say_so(
        self,
        item: Object,
        patch: Trace,
        django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
    ) -> None:
        worked_out(item)
        builders.treatment(item, title="Second lining", date="1980")
        client = signed_in()
        with django_capture_on_commit_callbacks(execute=True):
            text = page(client, item)
        assert "The records have changed since this history was worked out" in text
        assert "Second lining" not in text
        assert ProcrastinateJob.objects.filter(args__object_pk=item.pk).count() == 1
        worked_out(item)
        text = page(client, item)
        assert "have changed" not in text
        assert "Second lining" in text

    def test_progress_counts_the_degrees_of_trust(self, item: Object, patch: Trace) -> None:
        client = signed_in()
        assert 'value="0" max="3"' in page(client, item, "progress")
        next(store.compute(item))
        assert 'value="1" max="3"' in page(client, item, "progress")
        worked_out(item)
        answer = client.get(f"/objects/{item.pk}/history/progress?first=1")
        assert answer.headers["HX-Refresh"] == "true"
        assert "hx-trigger" not in answer.content.decode()

    def test_going_back_to_earlier_records_needs_no_new_work(
        self, item: Object, patch: Trace
    ) -> None:
        worked_out(item)
        before = Reconstruction.objects.count()
        second = builders.treatment(item, title="Second lining", date="1980")
        worked_out(item)
        second.withdraw(user=None, why="it was another picture")
        shown = store.shown(gather(item), Trust.ALL)
        assert shown.is_current
        assert Reconstruction.objects.count() == 2 * before

    def test_old_reconstructions_make_room(self, item: Object) -> None:
        for year in range(1950, 1957):
            builders.treatment(item, date=str(year))
            worked_out(item)
            store.tidy(item)
        for trust in Trust:
            kept = Reconstruction.objects.filter(object=item, trust=trust)
            assert kept.count() == store.KEPT_BEFORE + 1
        assert store.shown(gather(item)).is_current


class TestTask:
    def test_records_changed_together_ask_once(
        self,
        item: Object,
        recto: Face,
        django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
    ) -> None:
        memory = testing.InMemoryConnector()
        with procrastinate_app.current_app.replace_connector(memory):
            with django_capture_on_commit_callbacks(execute=True):
                look = builders.examination(item)
                for _ in range(20):
                    builders.sighting(builders.trace(recto), examination=look)
            waiting = [job for job in memory.jobs.values() if job["status"] == "todo"]
        assert [job["args"] for job in waiting] == [{"object_pk": item.pk}]
        assert waiting[0]["queueing_lock"] == waiting[0]["lock"]

    def test_the_task_works_the_history_out(self, item: Object, patch: Trace) -> None:
        from records.tasks import reconstruct

        reconstruct(object_pk=item.pk)
        assert {r.trust for r in Reconstruction.objects.filter(object=item)} == set(Trust.values)
        assert store.shown(gather(item)).is_current
        assert "records.tasks.reconstruct" in app.tasks

    def test_a_material_date_concerns_every_object_with_the_material(
        self, item: Object, recto: Face
    ) -> None:
        from records.models import MaterialDate
        from records.reconstruction.watching import objects_concerned
        from tests.integration.history.test_gather import accept, dated

        white = builders.material("baryte")
        other = builders.face(builders.canvas())
        accept(white, point=builders.sampling_point(recto, trace=builders.trace(recto)))
        accept(white, point=builders.sampling_point(other, trace=builders.trace(other)))
        fact = dated(white, "first_attested", "1830")  # type: ignore[arg-type]
        concerned = objects_concerned([(MaterialDate, {fact.pk})])
        assert concerned == {item.pk, other.object_id}


class TestContradictions:
    @pytest.fixture
    def rumour(self, item: Object, patch: Trace) -> Any:
        return state(
            item, StatementKind.DATED_MADE, patch, date="1936", strength=Strength.TENTATIVE
        )

    def test_it_is_told_with_the_cheapest_withdrawal_first(
        self, item: Object, patch: Trace, rumour: Any
    ) -> None:
        worked_out(item)
        client = signed_in()
        assert "contradicts itself" in page(client, item)
        text = page(client, item, "contradictions")
        gives = text.split("What would have to give")[1]
        assert gives.index("was made in 1936") < gives.index("was made during")
        assert gives.index("costs least") < gives.index("was made during")
        assert f"/statements/{rumour.pk}/" in text
        assert "contradicts itself" not in page(client, item, trust="likely")

    def test_setting_aside_and_bringing_back(self, item: Object, patch: Trace, rumour: Any) -> None:
        worked_out(item)
        client = signed_in()
        address = f"/objects/{item.pk}/history/set-aside/statement:{rumour.pk}"
        assert "was made in 1936" in client.get(address).content.decode()
        refused = client.post(address, {"why": " "})
        assert refused.status_code == 422
        assert not SetAside.objects.exists()
        client.post(address, {"why": "he was seven years old then"})
        decision = SetAside.objects.get()
        assert decision.item == f"statement:{rumour.pk}"
        version = decision.versions.get()  # type: ignore[attr-defined]
        assert version.pgh_context.metadata["why"] == "he was seven years old then"
        worked_out(item)
        assert "contradicts itself" not in page(client, item)
        listed = page(client, item, "set-aside")
        assert "he was seven years old then" in listed
        assert "was made in 1936" in listed
        again = client.post(address, {"why": "twice"}, follow=True)
        assert "decided about that already" in again.content.decode()
        back = f"/objects/{item.pk}/history/bring-back/{decision.pk}"
        client.post(back, {"why": "the letter is his father's"})
        decision.refresh_from_db()
        assert decision.withdrawn_why == "the letter is his father's"
        assert "contradicts itself" in page(client, item)
        assert "the letter is his father" in page(client, item, "set-aside")

    def test_scientists_do_not_set_aside(self, item: Object, patch: Trace, rumour: Any) -> None:
        client = signed_in(Role.SCIENTIST)
        address = f"/objects/{item.pk}/history/set-aside/statement:{rumour.pk}"
        assert client.get(address).status_code == 403
        assert client.post(address, {"why": "because"}).status_code == 403


class TestTrust:
    def test_bounds_tighten_from_degree_to_degree(self, item: Object, patch: Trace) -> None:
        worked_out(item)
        text = page(signed_in(), item, "trust")
        assert "The canvas patch" in text
        firm, likely = (
            store.shown(gather(item), trust).reconstruction for trust in ("firm", "likely")
        )
        assert firm
        assert likely
        made = f"trace:{patch.pk}"
        assert firm.result["traces"][made]["made"] == ["1911-01-01", firm.case["horizon"]["latest"]]
        assert likely.result["traces"][made]["made"] == ["1951-03-01", "1952-12-31"]


def test_a_stored_case_can_be_solved_again_to_the_same_result(item: Object, patch: Trace) -> None:
    from records import history

    worked_out(item)
    for kept in Reconstruction.objects.filter(object=item):
        again = history.solve(history.Case.from_json(kept.case)).to_json()
        assert again == kept.result
        assert kept.engine_version == history.VERSION


def test_the_place_of_what_bears_on_a_bound_is_drawn(
    item: Object, recto: Face, patch: Trace
) -> None:
    shape = "POLYGON((10 10, 50 10, 50 50, 10 50, 10 10))"
    builders.sighting(patch, shape, examination=builders.examination(item, date="1986"))
    worked_out(item)
    told = signed_in().get(
        f"/objects/{item.pk}/history/grounds/trace:{patch.pk}", headers={"HX-Request": "true"}
    )
    text = told.content.decode()
    assert 'class="place-mark asked" d="M 10 -10' in text
    assert f'href="/objects/{item.pk}/surface/?trace={patch.pk}"' in text
    assert "<html" not in text


def test_without_a_script_the_grounds_are_a_page(item: Object, patch: Trace) -> None:
    worked_out(item)
    text = page(signed_in(), item, f"grounds/trace:{patch.pk}")
    assert "<h1>The canvas patch</h1>" in text
    assert "between 1 March 1951 and 31 December 1952" in text
