"""Correlating layers of several sections: planted sequences, and what is never broken."""

from itertools import combinations
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from analyses.correlating import Course, Stratum, correlate, likeness

Look = dict[str, Any]
GROUND: Look = {"words": "white ground", "lab": (90.0, 0.0, 3.0), "materials": frozenset({"chalk"})}
SKY: Look = {
    "words": "blue paint",
    "lab": (45.0, 5.0, -30.0),
    "materials": frozenset({"ultramarine"}),
}
RED: Look = {"words": "red glaze", "lab": (35.0, 40.0, 20.0), "materials": frozenset({"red lake"})}
VARNISH: Look = {"words": "varnish", "lab": (60.0, 5.0, 30.0), "fluorescence": "greenish"}
RETOUCHING: Look = {"words": "retouching", "lab": (50.0, 0.0, -20.0)}
keys = iter(range(1, 1_000_000))


def section(*layers: Look, **of: Any) -> list[Stratum]:
    return [Stratum(next(keys), number, **(layer | of)) for number, layer in enumerate(layers, 1)]


def told(courses: list[Course]) -> list[list[str]]:
    return [[one.words for one in course.members.values()] for course in courses]


def test_it_works() -> None:
    found = correlate([section(GROUND, SKY, VARNISH), section(GROUND, SKY, RED, VARNISH)])
    assert told(found) == [
        ["white ground", "white ground"],
        ["blue paint", "blue paint"],
        ["red glaze"],
        ["varnish", "varnish"],
    ]


def test_three_sections_that_each_lack_a_layer_make_one_sequence() -> None:
    found = correlate(
        [
            section(GROUND, SKY, RED, VARNISH),
            section(GROUND, RED, VARNISH, RETOUCHING),
            section(SKY, RED, VARNISH),
        ]
    )
    assert [names[0] for names in told(found)] == [
        "white ground", "blue paint", "red glaze", "varnish", "retouching",
    ]  # fmt: skip
    assert [len(names) for names in told(found)] == [2, 2, 3, 3, 1]


def test_a_section_laid_first_is_laid_anew_once_the_others_are_known() -> None:
    # The richest section alone cannot tell where the varnish of the second lies; the third can.
    long = section(GROUND, {"words": ""}, {"words": ""}, {"words": ""}, RETOUCHING)
    found = correlate([long, section(GROUND, VARNISH, RETOUCHING), section(GROUND, VARNISH)])
    (varnish,) = [names for names in told(found) if "varnish" in names]
    assert varnish == ["varnish", "varnish"]


def test_a_likeness_in_words_alone_is_worth_less_than_one_in_everything() -> None:
    (one,), (two,) = section({"words": "blue, paler"}), section({"words": "blue retouching"})
    assert likeness(one, two).share < 0.32
    assert len(correlate([[one], [two]])) == 2


def test_a_tie_to_the_same_trace_outweighs_every_look() -> None:
    one = section(GROUND, SKY)
    two = section(RED | {"trace": 7})
    assert len(correlate([one, two])) == 3
    tied = [one[0], Stratum(next(keys), 2, "blue paint", trace=7)]
    found = correlate([tied, two])
    assert told(found) == [["white ground"], ["blue paint", "red glaze"]]


def test_layers_of_different_traces_are_never_one() -> None:
    found = correlate([section(SKY, trace=1), section(SKY, trace=2)])
    assert len(found) == 2


def test_layers_of_which_nothing_is_known_stay_on_their_own() -> None:
    blank: Look = {"words": ""}
    assert len(correlate([section(blank), section(blank)])) == 2


def test_likeness_says_what_it_rests_on() -> None:
    (one,), (two,) = section(SKY), section(SKY | {"lab": (48.0, 9.0, -30.0)})
    found = likeness(one, two)
    assert 0.7 < found.share < 0.9
    assert found.grounds == (
        "both hold ultramarine",
        "colours 5 apart in CIELAB",
        "both are described as blue, paint",
    )


LOOKS: list[Look] = [GROUND, SKY, RED, VARNISH, RETOUCHING, {"words": ""}]
LAYERS = st.lists(
    st.tuples(st.sampled_from(LOOKS), st.integers(0, 3)).map(
        lambda pair: pair[0] | {"trace": pair[1]}
    ),
    max_size=5,
)


@settings(max_examples=150)
@given(st.lists(LAYERS.map(lambda layers: section(*layers)), max_size=4))
def test_every_layer_stands_once_in_the_order_of_its_section(sections: list[list[Stratum]]) -> None:
    courses = correlate(sections)
    for index, layers in enumerate(sections):
        in_courses = [course.members[index] for course in courses if index in course.members]
        assert in_courses == layers
    for course in courses:
        assert course.members
        assert len(course.traces) <= 1


@settings(max_examples=60)
@given(LAYERS.map(lambda layers: section(*layers)), LAYERS.map(lambda layers: section(*layers)))
def test_two_sections_are_aligned_as_well_as_can_be(one: list[Stratum], two: list[Stratum]) -> None:
    """Against every alignment that keeps the order."""

    def worth(pairs: list[tuple[Stratum, Stratum]]) -> float:
        return sum(likeness(a, b).worth - 0.32 for a, b in pairs)

    best = max(
        worth([(one[i], two[j]) for i, j in zip(left, right, strict=True)])
        for size in range(min(len(one), len(two)) + 1)
        for left in combinations(range(len(one)), size)
        for right in combinations(range(len(two)), size)
    )
    first, second = (0, 1) if len(one) >= len(two) else (1, 0)
    found = [
        (course.members[first], course.members[second])
        for course in correlate([one, two])
        if len(course.members) == 2
    ]
    assert abs(worth(found) - best) < 1e-9
