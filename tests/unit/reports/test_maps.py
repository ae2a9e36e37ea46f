"""Surface maps as drawings: scale, labels, legend."""

import random
import xml.etree.ElementTree as ElementTree

from records.quantities import bar_length
from records.signs import Sign
from reports import maps
from reports.maps import Box, Ground, Labels, Mark, Spot

GROUND = Ground(1000, 600, "M0 0H1000V-600H0Z", (("Sky", "M0 -300H1000V-600H0Z", (500, 450)),))
SVG = "{http://www.w3.org/2000/svg}"


def mark(number: str, x: float, y: float, **given: object) -> Mark:
    fields = {
        "short": "LOS",
        "kind": "loss",
        "sign": Sign("alteration", 0),
        "shape": "polygon",
        "certain": True,
        "dimension": 2,
        "path": f"M{x} {-y}h20v-20h-20z",
        "size": 400.0,
        **given,
    }
    return Mark(number=number, at=(x, y), **fields)  # type: ignore[arg-type]


def test_the_face_fills_the_width_or_the_height_it_may() -> None:
    wide, tall = Ground(2000, 100, ""), Ground(100, 2000, "")
    assert 2000 / maps.scale_of(wide) == maps.WIDTH_MM - 2 * maps.EDGE_MM
    assert 2000 / maps.scale_of(tall) == maps.HEIGHT_MM - maps.EDGE_MM - maps.FOOT_MM


def test_the_scale_bar_is_a_round_length_that_fits() -> None:
    for span in (0.7, 3.0, 49.9, 50.0, 720.0, 12_345.0):
        length = bar_length(span)
        assert length <= span < 2.5 * length
        assert f"{length:e}"[0] in "125"


def test_lengths_are_told_in_the_unit_people_use() -> None:
    told = [maps.length_in_words(mm).replace("\u202f", " ") for mm in (5, 50, 500, 2000)]
    assert told == ["5 mm", "5 cm", "50 cm", "2 m"]


def test_no_label_covers_another_and_none_leaves_the_frame() -> None:
    frame = Box(0, -100, 160, 0)
    labels = Labels(frame)
    chance = random.Random(7)
    placed = []
    for n in range(400):
        x, y = chance.uniform(0, 160), chance.uniform(-100, 0)
        if at := labels.place(x, y, f"LOS {n}", on=True):
            half = len(f"LOS {n}") * maps.LETTER_MM / 2
            placed.append(Box(at[0] - half, at[1] - 1, at[0] + half, at[1] + 1))
    assert len(placed) > 200
    for position, box in enumerate(placed):
        assert frame.left <= box.left
        assert box.right <= frame.right
        assert not any(box.meets(other) for other in placed[position + 1 :])


def test_what_finds_no_place_for_its_number_is_named() -> None:
    crowd = [mark(str(n), 500 + n % 5, 300 + n % 7) for n in range(200)]
    drawn = maps.draw_traces(GROUND, crowd)
    shown = {e.text for e in ElementTree.fromstring(drawn.svg).iter(f"{SVG}text")}
    assert drawn.unlabelled
    for number in (m.number for m in crowd):
        assert (f"LOS {number}" in shown) != (number in drawn.unlabelled)


def test_the_legend_counts_what_is_certain_and_what_is_possible() -> None:
    drawn = maps.draw_traces(
        GROUND, [mark("1", 100, 100), mark("2", 300, 100), mark("3", 500, 100, certain=False)]
    )
    assert [(line.words, line.certain, line.possible) for line in drawn.legend] == [("loss", 2, 1)]


def test_possible_traces_are_hatched_and_certain_ones_are_not() -> None:
    certain = maps.draw_traces(GROUND, [mark("1", 100, 100)]).svg
    possible = maps.draw_traces(GROUND, [mark("1", 100, 100, certain=False)]).svg
    assert 'fill="url(#possible-alteration)"' in possible
    assert 'fill="url(#possible-alteration)"' not in certain


def test_a_coat_over_the_whole_face_is_a_rim_and_is_named_beside_the_map() -> None:
    coat = mark("7", 500, 300, path=GROUND.outline, size=600_000.0, is_whole_face=True)
    drawn = maps.draw_traces(GROUND, [coat])
    assert drawn.legend == []
    assert "over the whole face: 7" in drawn.coats[0].words
    assert "LOS 7" not in drawn.svg


def test_words_from_the_records_cannot_break_the_drawing() -> None:
    drawn = maps.draw_traces(GROUND, [mark("<7> & 'co'", 100, 100)])
    texts = [e.text for e in ElementTree.fromstring(drawn.svg).iter(f"{SVG}text")]
    assert "LOS <7> & 'co'" in texts


def test_a_map_of_sampling_points_tells_takings_from_readings() -> None:
    drawn = maps.draw_samples(GROUND, [Spot("P1", (100, 100), True), Spot("P2", (400, 200), False)])
    assert [(line.words, line.certain) for line in drawn.legend] == [
        ("material was removed", 1),
        ("reading that took nothing", 1),
    ]
    assert drawn.unlabelled == []
