"""Evidence told in sentences: each kind, each bound, each contradiction."""

from datetime import date
from typing import Any

import pytest

from records.reconstruction.evidence import Item, Link
from records.reconstruction.telling import Teller, day_in_words, quoted, span_in_words

EVENTS: list[dict[str, Any]] = [
    {"id": "image:1", "label": "Glass negative", "kind": "examination", "instant": True},
    {"id": "treatment:1", "label": "Glue-paste lining", "kind": "treatment", "instant": False},
    {"id": "occurrence:1", "label": "November surge", "kind": "occurrence", "instant": False},
    {"id": "examination:1", "label": "Raking light", "kind": "examination", "instant": False},
    {"id": "campaign:1", "label": "First survey", "kind": "campaign", "instant": False},
]
TRACES: list[dict[str, Any]] = [
    {"id": "trace:1", "label": "tear, lower left", "family": "alteration"},
    {"id": "trace:2", "label": "canvas patch", "family": "intervention"},
]


def case(*evidence: dict[str, Any]) -> dict[str, Any]:
    return {
        "horizon": {"earliest": "1890-01-01", "latest": "2026-12-31"},
        "events": EVENTS,
        "traces": TRACES,
        "evidence": [{"strength": "firm", **one} for one in evidence],
    }


def records() -> dict[str, Link]:
    return {e["id"]: Link(*_record(e["id"]), e["label"]) for e in [*EVENTS, *TRACES]}


def _record(entity: str) -> tuple[str, int]:
    kind, pk = entity.split(":")
    return kind, int(pk)


def item(fields: dict[str, Any], record: Link, *rests_on: Link, says: str = "") -> Item:
    return Item(fields["id"], fields["kind"], "firm", fields, record, rests_on, says)


def told(fields: dict[str, Any], *items: Item) -> str:
    teller = Teller(case(fields), {i.id: i for i in items}, records())
    return str(teller.sentence(fields["id"]))


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("1951-03-14", "1951-03-14", "on 14 March 1951"),
        ("1951-03-01", "1951-03-31", "in March 1951"),
        ("1951-01-01", "1951-12-31", "in 1951"),
        ("1950-01-01", "1959-12-31", "in the years 1950 to 1959"),
        ("1951-03-01", "1951-05-31", "between 1 March and 31 May 1951"),
        ("1951-03-04", "1951-03-09", "between 4 and 9 March 1951"),
        ("1951-02-28", "1952-12-31", "between 28 February 1951 and 31 December 1952"),
        (None, "1952-12-31", "on or before 31 December 1952"),
        ("1951-03-01", None, "on or after 1 March 1951"),
        ("9999-01-01", "9999-12-31", "between 1 January and 31 December 9999"),
    ],
)
def test_a_span_is_said_as_shortly_as_can_be(
    first: str | None, last: str | None, words: str
) -> None:
    a = date.fromisoformat(first) if first else None
    b = date.fromisoformat(last) if last else None
    assert span_in_words(a, b) == words


def test_days_are_written_out() -> None:
    assert day_in_words(date(1952, 12, 31)) == "31 December 1952"


KINDS: list[tuple[dict[str, Any], str]] = [
    (
        {"id": "treatment:1:date", "kind": "dated_event", "event": "treatment:1"}
        | {"date": "1951-03/1952"},
        "‘Glue-paste lining’ started in March 1951 and ended in 1952.",
    ),
    (
        {"id": "occurrence:1:date", "kind": "dated_event", "event": "occurrence:1"}
        | {"date": "1957-11-18"},
        "‘November surge’ took place on 18 November 1957.",
    ),
    (
        {"id": "occurrence:1:date", "kind": "dated_event", "event": "occurrence:1"}
        | {"date": "194X?"},
        "‘November surge’ took place in the years 1940 to 1949, perhaps.",
    ),
    (
        {"id": "image:1:date", "kind": "dated_event", "event": "image:1", "date": "1913-06"},
        "‘Glass negative’ was taken in June 1913.",
    ),
    (
        {"id": "s", "kind": "dated_made", "trace": "trace:1", "date": "1924"},
        "The tear, lower left, came about in 1924.",
    ),
    (
        {"id": "s", "kind": "dated_gone", "trace": "trace:2", "date": "1951"},
        "The canvas patch disappeared in 1951.",
    ),
    (
        {"id": "sighting:1", "kind": "seen", "trace": "trace:1", "at": "examination:1"},
        "The tear, lower left, was seen in ‘Raking light’.",
    ),
    (
        {"id": "sighting:1", "kind": "seen", "trace": "trace:1", "at": "image:1"},
        "The tear, lower left, is seen on ‘Glass negative’.",
    ),
    (
        {"id": "effect:1", "kind": "seen", "trace": "trace:1", "at": "occurrence:1"},
        "‘November surge’ altered the tear, lower left, which was there then.",
    ),
    (
        {"id": "sighting:1", "kind": "not_seen", "trace": "trace:1", "at": "image:1"},
        "The tear, lower left, is not on ‘Glass negative’: it came about later, or was gone"
        " before.",
    ),
    (
        {"id": "effect:1", "kind": "made_during", "trace": "trace:2", "events": ["treatment:1"]},
        "The canvas patch was made during ‘Glue-paste lining’.",
    ),
    (
        {"id": "s", "kind": "made_during", "trace": "trace:1"}
        | {"events": ["treatment:1", "occurrence:1"]},
        "The tear, lower left, came about during ‘Glue-paste lining’ or ‘November surge’.",
    ),
    (
        {"id": "effect:1", "kind": "gone_during", "trace": "trace:2", "events": ["treatment:1"]},
        "The canvas patch was removed during ‘Glue-paste lining’.",
    ),
    (
        {"id": "relation:1", "kind": "over", "upper": "trace:2", "lower": "trace:1"}
        | {"relation": "lies_over"},
        "The canvas patch lies over the tear, lower left, so it is the later.",
    ),
    (
        {"id": "relation:1", "kind": "over", "upper": "trace:1", "lower": "trace:2"}
        | {"relation": "cuts_through"},
        "The tear, lower left, cuts through the canvas patch, so it is the later.",
    ),
    (
        {"id": "s", "kind": "precedes", "first": "treatment:1", "second": "occurrence:1"},
        "‘Glue-paste lining’ was over before ‘November surge’ started.",
    ),
    (
        {"id": "s", "kind": "precedes", "first": "treatment:1", "second": "occurrence:1"}
        | {"min_days": 1, "max_days": 1200},
        "‘November surge’ started at least 1 day and at most 1\u202f200 days after the end of"
        " ‘Glue-paste lining’.",
    ),
    (
        {"id": "examination:1:within", "kind": "within", "inner": "examination:1"}
        | {"outer": "campaign:1"},
        "‘Raking light’ was part of ‘First survey’.",
    ),
    (
        {"id": "s", "kind": "within", "inner": "treatment:1", "outer": "occurrence:1"},
        "‘Glue-paste lining’ took place during ‘November surge’.",
    ),
    (
        {"id": "s", "kind": "lasts", "event": "treatment:1", "min_days": 10, "max_days": 20},
        "‘Glue-paste lining’ lasted 10 to 20 days.",
    ),
    (
        {"id": "s", "kind": "together", "traces": ["trace:1", "trace:2"], "within_days": 30},
        "The tear, lower left, and the canvas patch came about within 30 days of each other.",
    ),
]


@pytest.mark.parametrize(
    ("fields", "words"), KINDS, ids=[f"{k['kind']}-{n}" for n, (k, _) in enumerate(KINDS)]
)
def test_each_kind_of_evidence_is_one_sentence(fields: dict[str, Any], words: str) -> None:
    assert told(fields) == words


def test_a_sentence_opens_its_records_and_names_its_traces() -> None:
    fields = {"id": "sighting:7", "kind": "seen", "trace": "trace:1", "at": "image:1"}
    photograph = records()["image:1"]
    behind = item(fields, Link("sighting", 7, "sighting", ("trace", 1)), photograph)
    sentence = Teller(case(fields), {behind.id: behind}, records()).sentence("sighting:7")
    assert [p.link for p in sentence.parts if p.link] == [
        records()["trace:1"],
        photograph,
        behind.record,
    ]
    assert str(sentence) == "The tear, lower left, is seen on ‘Glass negative’ (as recorded)."
    assert sentence.traces == (1,)
    assert (sentence.item, sentence.strength, sentence.record) == (
        "sighting:7",
        "firm",
        behind.record,
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Lining", "‘Lining’"),
        ("label ‘Light on Water’", "‘label “Light on Water”’"),
        (
            "signature 'O. V.', and the artist’s label",
            "‘signature “O. V.”, and the artist’s label’",
        ),
        ("the liner's note: ‘don’t’ it says", "‘the liner's note: “don’t” it says’"),
    ],
)
def test_quotation_marks_within_others_are_doubled(text: str, words: str) -> None:
    assert quoted(text) == words


def test_a_statement_is_quoted_with_its_source() -> None:
    fields = {"id": "statement:3", "kind": "dated_made", "trace": "trace:2", "date": "1925"}
    letter = Link("source", 9, "Letter of the owner")
    said = item(fields, Link("statement", 3, "…"), letter, says="patched at ‘Easter’.")
    assert told(fields, said) == (
        "The canvas patch was made in 1925 (Letter of the owner: ‘patched at “Easter”’)."
    )


def test_a_treatment_rests_on_its_papers() -> None:
    fields = {"id": "treatment:1:date", "kind": "dated_event", "event": "treatment:1"} | {
        "date": "1952"
    }
    papers = Link("source", 9, "Invoice"), Link("source", 10, "Daybook")
    said = item(fields, records()["treatment:1"], *papers)
    assert told(fields, said) == "‘Glue-paste lining’ took place in 1952 (Invoice; Daybook)."


def test_layers_name_their_section() -> None:
    fields = {"id": "layers:1-2", "kind": "over", "upper": "trace:2", "lower": "trace:1"} | {
        "relation": "lies_over"
    }
    said = item(fields, Link("layer", 2, "section C3, layers 2 and 4"))
    assert told(fields, said) == (
        "In section C3, layers 2 and 4, the canvas patch lies over the tear, lower left, so it is"
        " the later."
    )


@pytest.mark.parametrize(
    ("fact", "more", "words"),
    [
        ("first_attested", {}, "first attested in 1921"),
        ("common_from", {}, "in common use from 1 January 1921 at the earliest"),
        ("last_attested", {"not_after": "1960"}, "last attested in 1960"),
    ],
)
def test_a_material_is_told_by_its_use(fact: str, more: dict[str, str], words: str) -> None:
    fields = {
        "id": f"identification:5:{fact}:1",
        "kind": "material",
        "trace": "trace:2",
        "material": "titanium_white",
        "not_before": "1921",
        **more,
    }
    said = item(
        fields,
        Link("identification", 5, "identification of titanium white in P4"),
        Link("material", 2, "Titanium white"),
    )
    assert told(fields, said) == (
        f"The canvas patch holds titanium white (identification of titanium white in P4), {words}."
    )


CHAIN = case(
    {"id": "z-first", "kind": "over", "upper": "trace:2", "lower": "trace:1"}
    | {"relation": "lies_over"},
    {"id": "m-second", "kind": "made_during", "trace": "trace:2", "events": ["treatment:1"]}
    | {"strength": "likely"},
    {"id": "a-last", "kind": "dated_event", "event": "treatment:1", "date": "1951-03/1952"},
)
RESULT: dict[str, Any] = {
    "consistent": True,
    "events": {},
    "traces": {"trace:1": {"made": ["1890-01-01", "1952-12-31"], "gone": ["1890-01-01", None]}},
    "reasons": {
        "trace:1.made.latest": ["a-last", "m-second", "z-first"],
        "trace:1.made.earliest": [],
    },
    "conflicts": [],
    "withdrawal": [],
}


def test_a_bound_is_told_from_what_it_is_about_outwards() -> None:
    telling = Teller(CHAIN, {}, records()).bound("trace:1.made.latest", RESULT)
    assert str(telling) == (
        "The tear, lower left, came about no later than 31 December 1952:"
        " The canvas patch lies over the tear, lower left, so it is the later."
        " The canvas patch was made during ‘Glue-paste lining’."
        " ‘Glue-paste lining’ started in March 1951 and ended in 1952."
    )
    assert telling.head.traces == (1,)


def test_a_bound_without_reasons_says_that_no_record_narrows_it() -> None:
    telling = Teller(CHAIN, {}, records()).bound("trace:1.made.earliest", RESULT)
    assert telling.because == ()
    assert str(telling) == (
        "The tear, lower left, came about no earlier than 1 January 1890."
        " No record narrows this: the time considered begins on that day."
    )


def test_what_may_be_there_still_is_told_so() -> None:
    telling = Teller(CHAIN, {}, records()).bound("trace:1.gone.latest", RESULT)
    assert str(telling) == "Nothing says that the tear, lower left, is gone: it may be there still."


def test_an_entity_is_told_by_its_four_bounds() -> None:
    tellings = Teller(CHAIN, {}, records()).entity("trace:1", RESULT)
    assert [t.bounds for t in tellings] == [
        ("trace:1.made.earliest",),
        ("trace:1.made.latest",),
        ("trace:1.gone.earliest",),
        ("trace:1.gone.latest",),
    ]


def test_bounds_set_by_the_same_evidence_are_told_as_one() -> None:
    evidence = {"id": "statement:1", "kind": "dated_made", "trace": "trace:2", "date": "1925-01"}
    result = RESULT | {
        "traces": {"trace:2": {"made": ["1925-01-01", "1925-01-31"], "gone": ["1925-01-01", None]}},
        "reasons": {
            f"trace:2.{bound}": ["statement:1"]
            for bound in ("made.earliest", "made.latest", "gone.earliest")
        },
    }
    made, *gone = Teller(case(evidence), {}, records()).entity("trace:2", result)
    assert made.bounds == ("trace:2.made.earliest", "trace:2.made.latest")
    assert str(made.head) == "The canvas patch was made in January 1925."
    assert [t.bounds for t in gone] == [("trace:2.gone.earliest",), ("trace:2.gone.latest",)]


def test_a_contradiction_offers_the_cheapest_withdrawal_first() -> None:
    result = RESULT | {
        "consistent": False,
        "conflicts": [["a-last", "m-second", "z-first"]],
        "withdrawal": ["z-first"],
    }
    (found,) = Teller(CHAIN, {}, records()).contradictions(result)
    assert {s.item for s in found.sentences} == {"a-last", "m-second", "z-first"}
    assert [s.item for s in found.gives] == ["z-first", "m-second", "a-last"]
    assert found.cheapest == {"z-first"}
