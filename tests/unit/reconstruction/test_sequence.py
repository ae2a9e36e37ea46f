"""The diagram of what lies over what: layers, reduction, equals, and a layout without overlaps."""

import random
from collections import Counter
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from records.reconstruction.sequence import (
    BOX_HIGH_PX,
    BOX_PX,
    CHARACTERS,
    MOST_ABREAST,
    Diagram,
    Order,
    diagram,
    diagrams,
    wrapped,
)


def drawn(*pairs: str) -> Diagram:
    """'ground<paint' says that the paint lies over the ground."""
    ends = [pair.split("<") for pair in pairs]
    return diagram([Order(lower, upper, f"{lower}<{upper}") for lower, upper in ends], {})


def levels(found: Diagram) -> dict[str, int]:
    """Layer of each trace, counted from the foot."""
    tops = sorted({box.y for box in found.boxes}, reverse=True)
    return {box.id: tops.index(box.y) for box in found.boxes}


def test_later_lies_higher() -> None:
    found = drawn("ground<paint", "paint<varnish", "ground<tear", "tear<fill")
    assert levels(found) == {"ground": 0, "paint": 1, "tear": 1, "varnish": 2, "fill": 2}


def test_what_follows_from_other_lines_is_not_drawn() -> None:
    found = drawn("ground<paint", "paint<varnish", "ground<varnish")
    assert [(line.lower, line.upper) for line in found.lines] == [
        ("ground", "paint"),
        ("paint", "varnish"),
    ]


def test_lines_carry_all_evidence_for_their_order() -> None:
    orders = [Order("a", "b", "relation:1"), Order("a", "b", "layers:1-2"), Order("a", "b")]
    (line,) = diagram(orders, {}).lines
    assert line.items == ("layers:1-2", "relation:1")


def test_equally_old_traces_stand_side_by_side() -> None:
    found = drawn("ground<one", "one<two", "two<one", "two<varnish")
    equals = sorted((b for b in found.boxes if b.is_equal), key=lambda b: b.x)
    assert {b.id for b in equals} == {"one", "two"}
    assert equals[0].y == equals[1].y
    assert equals[1].x - equals[0].x == BOX_PX
    assert levels(found)["varnish"] == 2


def test_nothing_overlaps_and_all_fits() -> None:
    chance = random.Random(7)
    names = [f"t{n:02}" for n in range(40)]
    pairs = [f"{a}<{b}" for a, b in combinations(names, 2) if chance.random() < 0.06]
    found = drawn(*pairs)
    for a, b in combinations(found.boxes, 2):
        apart = abs(a.x - b.x) >= BOX_PX - 0.2 or abs(a.y - b.y) >= BOX_HIGH_PX
        assert apart, (a, b)
    assert all(b.x >= 0 and b.x + BOX_PX <= found.width + 0.2 for b in found.boxes)
    assert all(b.y >= 0 and b.y + BOX_HIGH_PX <= found.height for b in found.boxes)


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), max_size=80))
def test_few_stand_abreast_and_later_still_lies_higher(pairs: list[tuple[int, int]]) -> None:
    ends = [(str(min(p)), str(max(p))) for p in pairs if p[0] != p[1]]
    boxes = {box.id: box for box in drawn(*(f"{a}<{b}" for a, b in ends)).boxes}
    for lower, upper in ends:
        assert boxes[upper].y < boxes[lower].y
    assert max(Counter(box.y for box in boxes.values()).values(), default=0) <= MOST_ABREAST


def test_the_drawing_is_the_same_whatever_order_the_evidence_comes_in() -> None:
    pairs = ["ground<paint", "paint<varnish", "ground<tear", "tear<fill", "fill<varnish"]
    assert drawn(*pairs) == drawn(*reversed(pairs))


def test_a_single_chain_is_a_straight_column() -> None:
    found = drawn("ground<paint", "paint<glaze", "glaze<varnish")
    assert len({box.x for box in found.boxes}) == 1


def test_no_order_is_an_empty_drawing() -> None:
    found = diagram([], {})
    assert found.boxes == ()
    assert found.lines == ()


def test_names_are_broken_to_fit_their_box() -> None:
    assert wrapped("tear, lower left") == ("tear, lower left",)
    assert wrapped("sky painted over the first barge") == ("sky painted over the", "first barge")
    for label in ("x" * 60, "a very long name that goes on and on and on without any end"):
        lines = wrapped(label)
        assert len(lines) <= 2
        assert all(len(line) <= CHARACTERS for line in lines)
        assert lines[-1].endswith("…")


def test_what_no_order_ties_together_is_drawn_apart() -> None:
    orders = [Order("ground", "paint"), Order("paint", "varnish"), Order("canvas", "label")]
    first, second = diagrams(orders, {})
    assert {box.id for box in first.boxes} == {"ground", "paint", "varnish"}
    assert {box.id for box in second.boxes} == {"canvas", "label"}
