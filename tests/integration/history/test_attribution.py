"""Who made an intervention that no record attributes: ranking, proofs, accepting, inferring."""

import pytest
from django.contrib.gis.geos import Polygon
from django.utils.html import strip_tags

from records.choices import EffectKind, Family, Role, Standing
from records.models import Effect, Face, Object, Trace, Treatment, TreatmentArea, TreatmentKind
from records.reconstruction import attribution, store
from records.reconstruction.attribution import Question
from records.reconstruction.gather import gather
from records.reconstruction.weighing import LEAST
from records.views.history import teller
from tests import builders
from tests.integration.history.test_gather import accept
from tests.integration.history.test_room import page, signed_in, worked_out

pytestmark = pytest.mark.django_db


@pytest.fixture
def item() -> Object:
    return builders.canvas(date="1911")


@pytest.fixture
def recto(item: Object) -> Face:
    return builders.face(item)


@pytest.fixture
def retouching(item: Object, recto: Face) -> Trace:
    """A retouching at the lower left, not there in 1924 and there in 1986."""
    kind = builders.trace_kind("retouching", Family.INTERVENTION)
    made = builders.trace(recto, kind, label="retouching at the barge")
    early = builders.examination(item, date="1924")
    late = builders.examination(item, date="1986")
    builders.sighting(made, examination=early, outcome="not_seen")
    builders.sighting(made, "POLYGON((10 10, 50 10, 50 50, 10 50, 10 10))", examination=late)
    return made


def treated(
    treatment: Treatment, face: Face, box: tuple[float, float, float, float] | None = None
) -> None:
    shape = Polygon.from_bbox(box) if box else None
    builders.recorded(TreatmentArea, treatment=treatment, face=face, geometry=shape)


def asked(item: Object) -> list[Question]:
    worked_out(item)
    evidence = gather(item)
    kept = store.shown(evidence).reconstruction
    assert kept
    open_ = attribution.unattributed(kept.case)
    return attribution.questions(evidence, teller(evidence, kept.case), kept.result, open_)


def test_only_interventions_without_a_treatment_are_asked_about(
    item: Object, recto: Face, retouching: Trace
) -> None:
    attributed = builders.trace(recto, retouching.kind)
    builders.recorded(Effect, treatment=builders.treatment(item), trace=attributed)
    builders.trace(recto)
    assert [q.trace.pk for q in asked(item)] == [retouching.pk]


def test_dates_rule_out_and_say_by_which_records(item: Object, retouching: Trace) -> None:
    late = builders.treatment(item, title="Late work", date="1995")
    fitting = builders.treatment(item, title="Fitting work", date="1951")
    (question,) = asked(item)
    assert [c.treatment.pk for c in question.candidates] == [fitting.pk]
    (out,) = question.ruled_out
    assert out.treatment.pk == late.pk
    said = " ".join(map(str, out.proof))
    assert "no later than 31 December 1986" in said
    assert "‘Late work’ started no earlier than 1 January 1995" in said
    assert "was seen in" in said


def test_place_is_the_share_of_its_area(item: Object, recto: Face, retouching: Trace) -> None:
    there, half, elsewhere, _ = (
        builders.treatment(item, title=title, date="1951")
        for title in ("there", "half", "elsewhere", "unknown")
    )
    treated(there, recto, (0, 0, 100, 100))
    treated(half, recto, (0, 0, 30, 100))
    treated(elsewhere, recto, (500, 0, 600, 100))
    (question,) = asked(item)
    weights = {c.treatment.label: c.weight for c in question.candidates}
    assert weights["half"] == pytest.approx(weights["there"] / 2)
    assert weights["unknown"] == pytest.approx(weights["there"] / 2)
    assert weights["elsewhere"] == pytest.approx(weights["there"] * LEAST)
    said = {
        c.treatment.label: " ".join(str(g.said) for g in c.grounds) for c in question.candidates
    }
    assert "50 % of the trace lies within" in said["half"]
    assert "outside what was treated" in said["elsewhere"]
    assert "not recorded" in said["unknown"]


def test_an_area_without_a_shape_is_the_whole_face(
    item: Object, recto: Face, retouching: Trace
) -> None:
    whole = builders.treatment(item, date="1951")
    treated(whole, recto)
    ((candidate,),) = [q.candidates for q in asked(item)]
    assert "The trace lies within what was treated." in {str(g.said) for g in candidate.grounds}


def test_materials_speak_for_and_against(item: Object, recto: Face, retouching: Trace) -> None:
    from records.changes import change

    white, resin = builders.material("zinc-white"), builders.material("ketone-resin")
    accept(white, point=builders.sampling_point(recto, trace=retouching))
    used, other, _ = (
        builders.treatment(item, title=title, date="1951") for title in ("used", "other", "silent")
    )
    with change(user=None, why="for a test"):
        used.materials.add(white)
        other.materials.add(resin)
    (question,) = asked(item)
    assert [c.treatment.label for c in question.candidates] == ["used", "silent", "other"]
    speaks = {
        c.treatment.label: {str(g.said): g.speaks for g in c.grounds} for c in question.candidates
    }
    assert speaks["used"]["Both have zinc white."] == "for"
    assert "against" in speaks["other"].values()
    assert speaks["silent"]["Its materials are not recorded."] == "unknown"


def test_experience_with_the_kind_counts(item: Object, recto: Face, retouching: Trace) -> None:
    inpainting = builders.term(TreatmentKind, "inpainting")
    elsewhere = builders.canvas()
    earlier = builders.treatment(elsewhere, kind=inpainting)
    for _ in range(4):
        known = builders.trace(builders.face(builders.canvas()), retouching.kind)
        builders.recorded(Effect, treatment=earlier, trace=known, kind=EffectKind.PRODUCED)
    builders.treatment(item, title="lining", date="1951")
    builders.treatment(item, title="inpainting", kind=inpainting, date="1951")
    (question,) = asked(item)
    assert [c.treatment.label for c in question.candidates] == ["inpainting", "lining"]
    assert "4 came from inpainting" in str(question.candidates[0].grounds[-1].said)


def test_more_traces_do_not_need_more_queries(
    item: Object, recto: Face, retouching: Trace, django_assert_num_queries: object
) -> None:
    builders.treatment(item, date="1951")
    worked_out(item)
    evidence = gather(item)
    kept = store.shown(evidence).reconstruction
    assert kept
    for _ in range(2):
        with django_assert_num_queries(7):  # type: ignore[operator]
            attribution.questions(
                evidence,
                teller(evidence, kept.case),
                kept.result,
                attribution.unattributed(kept.case),
            )
        for _ in range(5):
            builders.trace(recto, retouching.kind)
        worked_out(item)
        evidence = gather(item)
        kept = store.shown(evidence).reconstruction
        assert kept


def test_accepting_adds_evidence(item: Object, retouching: Trace) -> None:
    lining = builders.treatment(item, date="1951-03/1952")
    worked_out(item)
    client = signed_in()
    assert "Accept this treatment" in page(client, item, "attribution")
    address = f"/objects/{item.pk}/history/attribution/{retouching.pk}/accept/{lining.pk}"
    assert "was made during" in client.get(address).content.decode()
    client.post(address, {"why": "same hand as the invoice tells", "strength": "likely"})
    effect = Effect.objects.get()
    assert (effect.trace, effect.treatment, effect.strength) == (retouching, lining, "likely")
    assert effect.versions.get().pgh_context.metadata["why"] == "same hand as the invoice tells"  # type: ignore[attr-defined]
    worked_out(item)
    text = page(client, item, f"grounds/trace:{retouching.pk}")
    assert "between 1 March 1951 and 31 December 1952" in text
    again = client.post(address, {"why": "again", "strength": "firm"}, follow=True)
    assert "decided about that already" in again.content.decode()
    assert Effect.objects.count() == 1


def test_accepting_warns_of_what_it_would_contradict(item: Object, retouching: Trace) -> None:
    late = builders.treatment(item, title="Late work", date="1995")
    worked_out(item)
    address = f"/objects/{item.pk}/history/attribution/{retouching.pk}/accept/{late.pk}"
    text = strip_tags(signed_in().get(address).content.decode())
    assert "This would contradict other evidence" in text
    assert "‘Late work’ took place in 1995" in text


def test_work_that_nobody_recorded_becomes_an_inferred_treatment(
    item: Object, recto: Face, retouching: Trace
) -> None:
    kind = builders.term(TreatmentKind, "inpainting")
    worked_out(item)
    client = signed_in()
    assert "Work that nobody recorded" in page(client, item, "attribution")
    address = f"/objects/{item.pk}/history/attribution/unrecorded/1"
    form = client.get(address).context["form"]
    given = {"date": form["date"].value(), "traces": form["traces"].value()}
    refused = client.post(address, given | {"title": "", "kind": kind.pk, "why": ""})
    assert refused.status_code == 422
    client.post(
        address,
        given | {"title": "Retouchings (no record)", "kind": kind.pk, "why": "the traces say so"},
    )
    made = Treatment.objects.get()
    assert made.standing == Standing.INFERRED
    assert [e.trace for e in made.effects.all()] == [retouching]
    worked_out(item)
    assert "Work that nobody recorded" not in page(client, item, "attribution")
    assert not attribution.unattributed(gather(item).case())


def test_scientists_read_but_do_not_attribute(item: Object, retouching: Trace) -> None:
    lining = builders.treatment(item)
    worked_out(item)
    client = signed_in(Role.SCIENTIST)
    assert "Accept this treatment" not in page(client, item, "attribution")
    address = f"/objects/{item.pk}/history/attribution/{retouching.pk}/accept/{lining.pk}"
    assert client.post(address, {"why": "because"}).status_code == 403
