"""Reading a case from the records: each kind of record, what it says, and what it does not say."""

from datetime import date
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from analyses.models import Identification, Layer
from records.choices import (
    EffectKind,
    Family,
    ImageKind,
    MaterialDateKind,
    Role,
    Seen,
    Standing,
    StatementKind,
    Strength,
    Trust,
)
from records.models import (
    Effect,
    Face,
    Material,
    MaterialDate,
    Object,
    Relation,
    SetAside,
    Statement,
    StatementEvent,
    StatementTrace,
    Trace,
)
from records.reconstruction.evidence import Evidence, sha256
from records.reconstruction.gather import gather
from tests import builders

pytestmark = pytest.mark.django_db

TODAY = date(2024, 5, 17)


@pytest.fixture
def item() -> Object:
    return builders.canvas(date="1911")


@pytest.fixture
def recto(item: Object) -> Face:
    return builders.face(item)


def of(item: Object) -> Evidence:
    return gather(item, TODAY)


def said(item: Object) -> dict[str, dict[str, Any]]:
    """The evidence of the case by id, without the id."""
    evidence = of(item).case()["evidence"]
    return {one["id"]: {k: v for k, v in one.items() if k != "id"} for one in evidence}


def state(item: Object, kind: StatementKind, *participants: Any, **fields: Any) -> Statement:
    """A statement of that kind about events and traces, in that order."""
    made: Statement = builders.recorded(
        Statement,
        object=item,
        source=builders.source(item),
        kind=kind,
        text="as the letter says",
        **fields,
    )
    for position, one in enumerate(participants):
        if isinstance(one, Trace):
            builders.recorded(StatementTrace, statement=made, trace=one)
        else:
            arc = {type(one).__name__.lower(): one}
            builders.recorded(StatementEvent, statement=made, position=position, **arc)
    return made


def accept(material: Material, **fields: Any) -> Identification:
    given = {
        "decision": "accepted",
        "decided_by": builders.user(Role.SCIENTIST),
        "decided_at": timezone.now(),
        "grounds": "two techniques agree",
        **fields,
    }
    made: Identification = builders.recorded(Identification, material=material, **given)
    return made


def dated(material: Material, kind: MaterialDateKind, when: str) -> MaterialDate:
    made: MaterialDate = builders.recorded(
        MaterialDate, material=material, kind=kind, date=when, source="a handbook"
    )
    return made


def test_an_empty_object_makes_an_empty_case(item: Object) -> None:
    assert of(item).case() == {
        "horizon": {"earliest": "1911-01-01", "latest": "2024-12-31"},
        "events": [],
        "traces": [],
        "evidence": [],
    }


class TestEvents:
    def test_a_treatment_dates_itself(self, item: Object) -> None:
        made = builders.treatment(item, date="1951-03/1952")
        case = of(item).case()
        assert case["events"] == [
            {
                "id": f"treatment:{made.pk}",
                "label": "Glue-paste lining",
                "kind": "treatment",
                "instant": False,
            }
        ]
        assert said(item)[f"treatment:{made.pk}:date"] == {
            "kind": "dated_event",
            "strength": "firm",
            "event": f"treatment:{made.pk}",
            "date": "1951-03/1952",
        }

    def test_an_inferred_treatment_is_dated_likely_at_most(self, item: Object) -> None:
        likely = builders.treatment(item, date="1934~", standing=Standing.INFERRED)
        perhaps = builders.treatment(item, date="1934?", standing=Standing.INFERRED)
        assert said(item)[f"treatment:{likely.pk}:date"]["strength"] == "likely"
        assert said(item)[f"treatment:{perhaps.pk}:date"]["strength"] == "tentative"

    @pytest.mark.parametrize(
        ("text", "strength"), [("194X?", "tentative"), ("1932%", "tentative"), ("1932~", "firm")]
    )
    def test_doubt_in_a_date_makes_it_tentative(
        self, item: Object, text: str, strength: str
    ) -> None:
        made = builders.occurrence(item, date=text)
        assert said(item)[f"occurrence:{made.pk}:date"]["strength"] == strength

    def test_an_occurrence_of_one_day_is_instant(self, item: Object) -> None:
        builders.occurrence(item, instant=True, date="1978-08-12")
        assert of(item).case()["events"][0]["instant"] is True

    def test_an_event_without_a_date_is_there_without_evidence(self, item: Object) -> None:
        builders.treatment(item, date="")
        case = of(item).case()
        assert len(case["events"]) == 1
        assert case["evidence"] == []

    def test_a_historical_photograph_is_an_instant_examination(self, item: Object) -> None:
        made = builders.photograph(item, "1931-06~")
        case = of(item).case()
        assert case["events"] == [
            {
                "id": f"image:{made.pk}",
                "label": "Glass negative",
                "kind": "examination",
                "instant": True,
            }
        ]
        assert said(item)[f"image:{made.pk}:date"]["date"] == "1931-06~"

    def test_a_scan_that_nothing_refers_to_is_no_event(self, item: Object, recto: Face) -> None:
        scan = builders.photograph(item, kind=ImageKind.DOCUMENT)
        assert of(item).case()["events"] == []
        builders.sighting(builders.trace(recto), image=scan)
        assert [e["id"] for e in of(item).case()["events"]] == [f"image:{scan.pk}"]

    def test_a_campaign_dates_only_what_has_no_date_of_its_own(self, item: Object) -> None:
        survey = builders.campaign(item, date="1986-03/1986-06")
        builders.examination(item, campaign=survey, date="1986-07-01")
        undated = builders.examination(item, campaign=survey, date="")
        found = {k: v for k, v in said(item).items() if v["kind"] == "within"}
        assert found == {
            f"examination:{undated.pk}:within": {
                "kind": "within",
                "strength": "firm",
                "inner": f"examination:{undated.pk}",
                "outer": f"campaign:{survey.pk}",
            }
        }


class TestSightings:
    def test_seen_and_not_seen_at_an_examination(self, item: Object, recto: Face) -> None:
        tear, patch = builders.trace(recto), builders.trace(recto)
        look = builders.examination(item)
        seen = builders.sighting(tear, examination=look)
        missing = builders.sighting(patch, examination=look, outcome=Seen.NOT_SEEN)
        assert said(item)[f"sighting:{seen.pk}"] == {
            "kind": "seen",
            "strength": "firm",
            "trace": f"trace:{tear.pk}",
            "at": f"examination:{look.pk}",
        }
        assert said(item)[f"sighting:{missing.pk}"]["kind"] == "not_seen"

    def test_an_unclear_look_says_nothing(self, item: Object, recto: Face) -> None:
        made = builders.sighting(builders.trace(recto), outcome=Seen.UNCLEAR)
        assert f"sighting:{made.pk}" not in said(item)

    def test_an_image_made_in_an_examination_dates_by_it(self, item: Object, recto: Face) -> None:
        look = builders.examination(item)
        image = builders.photograph(item, "", examination=look, kind=ImageKind.TECHNICAL)
        made = builders.sighting(builders.trace(recto), image=image)
        assert said(item)[f"sighting:{made.pk}"]["at"] == f"examination:{look.pk}"

    def test_a_dated_photograph_is_its_own_moment(self, item: Object, recto: Face) -> None:
        image = builders.photograph(item, "1924")
        made = builders.sighting(builders.trace(recto), image=image, outcome=Seen.NOT_SEEN)
        assert said(item)[f"sighting:{made.pk}"]["at"] == f"image:{image.pk}"


class TestOrder:
    def test_a_relation_is_an_order(self, item: Object, recto: Face) -> None:
        patch, tear = builders.trace(recto), builders.trace(recto)
        made = builders.recorded(
            Relation, upper=patch, lower=tear, order="fills", strength=Strength.LIKELY
        )
        assert said(item)[f"relation:{made.pk}"] == {
            "kind": "over",
            "strength": "likely",
            "upper": f"trace:{patch.pk}",
            "lower": f"trace:{tear.pk}",
            "relation": "fills",
        }

    def layers(self, recto: Face, *traces: Trace | None, **section: Any) -> list[Layer]:
        cut = builders.section(builders.sample(builders.sampling_point(recto)), **section)
        return [
            builders.recorded(
                Layer, preparation=cut, number=number, description="stratum", trace=trace
            )
            for number, trace in enumerate(traces, 1)
        ]

    def test_layers_tied_to_traces_are_in_order(self, item: Object, recto: Face) -> None:
        ground, paint, varnish = (builders.trace(recto) for _ in range(3))
        one, _, three, four = self.layers(recto, ground, None, paint, varnish)
        orders = {k: v for k, v in said(item).items() if v["kind"] == "over"}
        assert list(orders) == [f"layers:{one.pk}-{three.pk}", f"layers:{three.pk}-{four.pk}"]
        assert orders[f"layers:{one.pk}-{three.pk}"] == {
            "kind": "over",
            "strength": "firm",
            "upper": f"trace:{paint.pk}",
            "lower": f"trace:{ground.pk}",
            "relation": "lies_over",
        }

    def test_a_trace_of_several_layers_was_begun_at_the_lowest(
        self, item: Object, recto: Face
    ) -> None:
        ground, paint, varnish = (builders.trace(recto) for _ in range(3))
        one, _two, three, _four, five = self.layers(recto, ground, ground, paint, ground, varnish)
        orders = [k for k, v in said(item).items() if v["kind"] == "over"]
        assert orders == [f"layers:{one.pk}-{three.pk}", f"layers:{three.pk}-{five.pk}"]

    def test_a_powder_mount_has_no_order(self, item: Object, recto: Face) -> None:
        self.layers(recto, builders.trace(recto), builders.trace(recto), kind="powder")
        assert said(item) == {}


class TestMaterials:
    @pytest.fixture
    def titanium_white(self) -> Material:
        white = builders.material()
        dated(white, MaterialDateKind.FIRST_ATTESTED, "1921")
        dated(white, MaterialDateKind.COMMON_FROM, "1925~")
        return white

    def test_first_use_is_firm_and_common_use_tentative(
        self, item: Object, recto: Face, titanium_white: Material
    ) -> None:
        retouching = builders.trace(recto)
        point = builders.sampling_point(recto, trace=retouching)
        made = accept(titanium_white, point=point)
        first, common = titanium_white.dates.order_by("pk")
        assert said(item) == {
            f"identification:{made.pk}:first_attested:{first.pk}": {
                "kind": "material",
                "strength": "firm",
                "trace": f"trace:{retouching.pk}",
                "material": "titanium-white",
                "not_before": "1921",
            },
            f"identification:{made.pk}:common_from:{common.pk}": {
                "kind": "material",
                "strength": "tentative",
                "trace": f"trace:{retouching.pk}",
                "material": "titanium-white",
                "not_before": "1925~",
            },
        }

    def test_of_disputed_first_uses_the_earliest_is_firm(
        self, item: Object, recto: Face, titanium_white: Material
    ) -> None:
        dated(titanium_white, MaterialDateKind.FIRST_ATTESTED, "1916")
        accept(titanium_white, point=builders.sampling_point(recto, trace=builders.trace(recto)))
        firsts = {v["not_before"]: v["strength"] for k, v in said(item).items() if "first" in k}
        assert firsts == {"1916": "firm", "1921": "tentative"}

    def test_last_use_is_a_tentative_limit(self, item: Object, recto: Face) -> None:
        ink = builders.material("iron-gall-ink")
        dated(ink, MaterialDateKind.FIRST_ATTESTED, "1200~")
        dated(ink, MaterialDateKind.COMMON_UNTIL, "1900")
        dated(ink, MaterialDateKind.LAST_ATTESTED, "1960")
        accept(ink, point=builders.sampling_point(recto, trace=builders.trace(recto)))
        limits = [v for v in said(item).values() if "not_after" in v]
        assert [(v["strength"], v["not_before"], v["not_after"]) for v in limits] == [
            ("tentative", "1200~", "1960")
        ]
        assert len(said(item)) == 2

    def test_a_merely_possible_identification_is_tentative(
        self, item: Object, recto: Face, titanium_white: Material
    ) -> None:
        point = builders.sampling_point(recto, trace=builders.trace(recto))
        accept(titanium_white, point=point, confidence="possible")
        assert {v["strength"] for v in said(item).values()} == {"tentative"}

    def test_a_layer_speaks_of_its_own_trace_only(
        self, item: Object, recto: Face, titanium_white: Material
    ) -> None:
        at_point, of_layer = builders.trace(recto), builders.trace(recto)
        taken = builders.sample(builders.sampling_point(recto, trace=at_point))
        cut = builders.section(taken)
        tied, loose = (
            builders.recorded(Layer, preparation=cut, number=n, description="", trace=t)
            for n, t in ((1, of_layer), (2, None))
        )
        accept(titanium_white, layer=loose)
        assert said(item) == {}
        accept(titanium_white, layer=tied)
        assert {v["trace"] for v in said(item).values()} == {f"trace:{of_layer.pk}"}

    def test_a_trace_named_by_the_identification_goes_before(
        self, item: Object, recto: Face, titanium_white: Material
    ) -> None:
        named = builders.trace(recto)
        taken = builders.sample(builders.sampling_point(recto, trace=builders.trace(recto)))
        accept(titanium_white, sample=taken, trace=named)
        assert {v["trace"] for v in said(item).values()} == {f"trace:{named.pk}"}

    def test_only_what_a_person_accepted_counts(
        self, item: Object, recto: Face, titanium_white: Material
    ) -> None:
        point = builders.sampling_point(recto, trace=builders.trace(recto))
        builders.recorded(
            Identification, material=titanium_white, point=point, grounds="proposed from XRF"
        )
        accept(titanium_white, point=point, decision="rejected")
        assert said(item) == {}


class TestEffects:
    @pytest.mark.parametrize(
        ("effect", "expected"),
        [
            (EffectKind.PRODUCED, {"kind": "made_during"}),
            (EffectKind.REMOVED, {"kind": "gone_during"}),
        ],
    )
    def test_what_an_event_made_or_removed(
        self, item: Object, recto: Face, effect: EffectKind, expected: dict[str, str]
    ) -> None:
        lining, patch = builders.treatment(item), builders.trace(recto)
        made = builders.recorded(Effect, treatment=lining, trace=patch, kind=effect)
        assert said(item)[f"effect:{made.pk}"] == {
            **expected,
            "strength": "likely",
            "trace": f"trace:{patch.pk}",
            "events": [f"treatment:{lining.pk}"],
        }

    def test_what_an_event_altered_was_there(self, item: Object, recto: Face) -> None:
        flood, varnish = builders.occurrence(item), builders.trace(recto)
        made = builders.recorded(
            Effect, occurrence=flood, trace=varnish, kind=EffectKind.ALTERED, strength="firm"
        )
        assert said(item)[f"effect:{made.pk}"] == {
            "kind": "seen",
            "strength": "firm",
            "trace": f"trace:{varnish.pk}",
            "at": f"occurrence:{flood.pk}",
        }


class TestStatements:
    def test_every_kind_is_read(self, item: Object, recto: Face) -> None:
        lining, loan = builders.treatment(item), builders.occurrence(item)
        photograph = builders.photograph(item)
        tear, patch = builders.trace(recto), builders.trace(recto)
        kind = StatementKind
        a, b = f"treatment:{lining.pk}", f"occurrence:{loan.pk}"
        t, p = f"trace:{tear.pk}", f"trace:{patch.pk}"
        cases: list[tuple[Statement, dict[str, Any]]] = [
            (state(item, kind.DATED_EVENT, lining, date="1952"), {"event": a, "date": "1952"}),
            (state(item, kind.DATED_MADE, tear, date="1924"), {"trace": t, "date": "1924"}),
            (state(item, kind.DATED_GONE, tear, date="1952"), {"trace": t, "date": "1952"}),
            (
                state(item, kind.SEEN, tear, photograph),
                {"trace": t, "at": f"image:{photograph.pk}"},
            ),
            (state(item, kind.NOT_SEEN, tear, loan), {"trace": t, "at": b}),
            (state(item, kind.MADE_DURING, patch, lining, loan), {"trace": p, "events": [a, b]}),
            (state(item, kind.GONE_DURING, patch, loan), {"trace": p, "events": [b]}),
            (
                state(item, kind.PRECEDES, lining, loan, max_days=90),
                {"first": a, "second": b, "max_days": 90},
            ),
            (state(item, kind.WITHIN, lining, loan), {"inner": a, "outer": b}),
            (
                state(item, kind.LASTS, lining, min_days=10, max_days=20),
                {"event": a, "min_days": 10, "max_days": 20},
            ),
            (
                state(item, kind.TOGETHER, tear, patch, within_days=30),
                {"traces": [t, p], "within_days": 30},
            ),
        ]
        found = said(item)
        for statement, fields in cases:
            assert found[f"statement:{statement.pk}"] == {
                "kind": statement.kind,
                "strength": "likely",
                **fields,
            }
        assert {s.kind for s, _ in cases} == set(StatementKind.values)

    def test_one_claim_for_each_trace_that_it_speaks_of(self, item: Object, recto: Face) -> None:
        traces = [builders.trace(recto), builders.trace(recto)]
        made = state(item, StatementKind.DATED_MADE, *traces, date="1924")
        assert list(said(item)) == [f"statement:{made.pk}:trace:{t.pk}" for t in traces]

    def test_a_doubtful_date_makes_it_tentative(self, item: Object, recto: Face) -> None:
        made = state(item, StatementKind.DATED_MADE, builders.trace(recto), date="1924?")
        assert said(item)[f"statement:{made.pk}"]["strength"] == "tentative"

    def test_one_that_names_too_little_is_left_out_and_reported(self, item: Object) -> None:
        made = state(item, StatementKind.PRECEDES, builders.treatment(item))
        assert f"statement:{made.pk}" not in said(item)
        (unused,) = of(item).unused
        assert unused.record.pk == made.pk
        assert "every event or trace" in unused.lacks

    def test_an_image_made_in_an_examination_means_the_examination(
        self, item: Object, recto: Face
    ) -> None:
        look = builders.examination(item)
        image = builders.photograph(item, "", examination=look)
        made = state(item, StatementKind.SEEN, builders.trace(recto), image)
        assert said(item)[f"statement:{made.pk}"]["at"] == f"examination:{look.pk}"


class TestWhatCounts:
    def test_withdrawn_records_and_what_refers_to_them_bear_on_nothing(
        self, item: Object, recto: Face
    ) -> None:
        tear, look = builders.trace(recto), builders.examination(item)
        builders.sighting(tear, examination=look)
        gone = builders.sighting(builders.trace(recto))
        statement = state(item, StatementKind.DATED_MADE, tear, date="1924")
        effect = builders.recorded(Effect, treatment=builders.treatment(item), trace=tear)
        before = said(item)
        assert {f"statement:{statement.pk}", f"effect:{effect.pk}"} < set(before)
        for record in (tear, gone, look):
            record.withdraw(user=None, why="recorded by mistake")
        after = of(item)
        kinds = {i.kind for i in after.items.values()}
        assert kinds == {"dated_event"}
        assert f"examination:{look.pk}" not in after.entities
        assert [u.record.pk for u in after.unused] == [statement.pk]

    def test_another_object_stays_out(self, item: Object) -> None:
        other = builders.canvas()
        builders.sighting(builders.trace(builders.face(other)))
        builders.treatment(other)
        assert of(item).case()["events"] == []
        assert said(item) == {}

    def test_what_is_set_aside_is_kept_apart(self, item: Object, recto: Face) -> None:
        seen = builders.sighting(builders.trace(recto))
        decision = builders.recorded(
            SetAside,
            object=item,
            item=f"sighting:{seen.pk}",
            why="the photograph is of a copy",
            by=builders.user(Role.CONSERVATOR),
        )
        assert f"sighting:{seen.pk}" not in said(item)
        ((aside, items),) = of(item).set_aside
        assert aside.why == "the photograph is of a copy"
        assert [i.id for i in items] == [f"sighting:{seen.pk}"]
        decision.withdraw(user=None, why="it is the original after all")
        assert f"sighting:{seen.pk}" in said(item)

    def test_setting_a_record_aside_takes_all_its_items(self, item: Object, recto: Face) -> None:
        traces = [builders.trace(recto), builders.trace(recto)]
        made = state(item, StatementKind.DATED_MADE, *traces, date="1924")
        builders.recorded(
            SetAside,
            object=item,
            item=f"statement:{made.pk}",
            why="misread",
            by=builders.user(Role.CONSERVATOR),
        )
        assert said(item) == {}
        ((_, items),) = of(item).set_aside
        assert len(items) == 2

    def test_degrees_of_trust_admit_by_strength(self, item: Object, recto: Face) -> None:
        for strength in Strength:
            builders.sighting(builders.trace(recto), strength=strength)
        evidence = of(item)
        admitted = {
            trust: {i["strength"] for i in evidence.case(trust)["evidence"]} for trust in Trust
        }
        assert admitted == {
            "firm": {"firm"},
            "likely": {"firm", "likely"},
            "all": {"firm", "likely", "tentative"},
        }


class TestHorizon:
    def horizon(self, item: Object) -> tuple[str, str]:
        found = of(item).case()["horizon"]
        return found["earliest"], found["latest"]

    def test_from_the_objects_date_to_the_end_of_this_year(self, item: Object) -> None:
        builders.treatment(item, date="1951")
        assert self.horizon(item) == ("1911-01-01", "2024-12-31")

    def test_a_century_before_the_first_evidence_of_an_undated_object(self) -> None:
        item = builders.canvas()
        builders.treatment(item, date="1951-03")
        assert self.horizon(item) == ("1851-01-01", "2024-12-31")

    def test_evidence_outside_widens_it(self, item: Object) -> None:
        builders.occurrence(item, date="1909-05")
        builders.campaign(item, date="2027-02")
        assert self.horizon(item) == ("1909-05-01", "2027-02-28")

    def test_the_first_use_of_a_material_does_not_widen_it(self, item: Object, recto: Face) -> None:
        lead = builders.material("lead-white")
        dated(lead, MaterialDateKind.FIRST_ATTESTED, "0100~")
        accept(lead, point=builders.sampling_point(recto, trace=builders.trace(recto)))
        assert self.horizon(item) == ("1911-01-01", "2024-12-31")

    def test_the_case_stays_the_same_all_year(self, item: Object) -> None:
        builders.treatment(item)
        first, last = (gather(item, date(2024, m, d)).case() for m, d in ((1, 1), (12, 31)))
        assert sha256(first) == sha256(last)


def test_labels_read_like_speech(item: Object, recto: Face) -> None:
    kind = builders.trace_kind("filled-loss", Family.INTERVENTION, label="Filled loss")
    builders.trace(recto, kind, number="14")
    builders.trace(recto, kind, label="fill at the barge")
    assert [t["label"] for t in of(item).case()["traces"]] == [
        "filled loss 14",
        "fill at the barge",
    ]


def fill_with_records(item: Object, face: Face) -> None:
    look, photograph = builders.examination(item), builders.photograph(item)
    lining, loan = builders.treatment(item), builders.occurrence(item)
    lining_source = builders.source(item)
    from records.changes import change

    with change(user=None, why="for a test"):
        lining.sources.add(lining_source)
        loan.sources.add(lining_source)
    white = builders.material()
    if not white.dates.exists():
        dated(white, MaterialDateKind.FIRST_ATTESTED, "1921")
    lower, upper = builders.trace(face), builders.trace(face)
    builders.sighting(lower, examination=look)
    builders.sighting(upper, image=photograph)
    builders.recorded(Relation, upper=upper, lower=lower)
    builders.recorded(Effect, treatment=lining, trace=upper)
    state(item, StatementKind.PRECEDES, lining, loan)
    state(item, StatementKind.DATED_MADE, upper, date="1952")
    point = builders.sampling_point(face, trace=upper)
    accept(white, point=point)
    cut = builders.section(builders.sample(point))
    for number, trace in enumerate((lower, upper), 1):
        layer = builders.recorded(
            Layer, preparation=cut, number=number, description="", trace=trace
        )
    accept(white, layer=layer)


def test_the_number_of_queries_does_not_grow_with_the_records(
    item: Object, recto: Face, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    fill_with_records(item, recto)
    with django_assert_num_queries(18):
        few = of(item)
    for _ in range(3):
        fill_with_records(item, recto)
    with django_assert_num_queries(18):
        many = of(item)
    assert len(many.items) == 4 * len(few.items)
