"""Images redrawn square to a face: every detail lies where the placement says."""

import json
from pathlib import Path

import numpy as np
import pytest
import pyvips

from records.imaging.fits import Chart, apply, fit
from records.imaging.placement import outline_px
from records.imaging.pyramid import PyramidError
from records.imaging.rectifying import Frame, frame_of, lies_square, rectify, redrawn

SIZE = (900, 700)
FACE = (400.0, 300.0)
ASLANT = np.array([[0.5, 0.03, -20], [0.02, -0.48, 320], [1e-4, -6e-5, 1.0]])


def bent() -> Chart:
    """A spline through points that a lens has bent."""
    px = np.array([(c, r) for c in np.linspace(0, 900, 6) for r in np.linspace(0, 700, 5)])
    away = (px - (450, 350)) / 900
    mm = apply(ASLANT, px + 30 * away * np.sum(away**2, axis=1)[:, None])
    return fit(px, mm, "spline")


CHARTS = {"projective": Chart(ASLANT), "spline": bent()}


def coordinates() -> pyvips.Image:
    """An image whose values are the places of its pixels."""
    return (pyvips.Image.xyz(*SIZE) + 0.5).cast("float")


@pytest.mark.parametrize("name", CHARTS)
def test_every_pixel_comes_from_where_the_placement_says(name: str) -> None:
    chart = CHARTS[name]
    edge = chart.to_face(outline_px(*SIZE, 16))
    frame = frame_of(chart, edge, FACE, SIZE)
    fetched = np.asarray(redrawn(coordinates(), chart, frame, background=-1).numpy(), float)
    assert fetched.shape == (frame.height_px, frame.width_px, 2)
    rng = np.random.default_rng(0)
    rows, columns = (
        rng.integers(frame.height_px, size=5000),
        rng.integers(frame.width_px, size=5000),
    )
    true = chart.to_image(frame.at(columns.astype(float), rows.astype(float)))
    inside = ((true > 4) & (true < np.array(SIZE) - 4)).all(axis=1)
    assert inside.sum() > 2000
    assert np.abs(fetched[rows, columns] - true)[inside].max() < 0.1
    outside = ((true < -4) | (true > np.array(SIZE) + 4)).any(axis=1)
    assert (fetched[rows, columns][outside] == -1).all()


def test_the_frame_keeps_the_resolution_and_leaves_out_what_lies_far_off_the_face() -> None:
    wide = Chart(np.array([[4.0, 0, -1500], [0, -4.0, 1500], [0, 0, 1.0]]))
    frame = frame_of(wide, wide.to_face(outline_px(*SIZE)), FACE, SIZE)
    assert frame.mm_per_px == pytest.approx(4)
    assert (frame.left_mm, frame.top_mm) == (-100, 400)  # a quarter of the face around it
    assert (frame.width_px, frame.height_px) == (150, 125)
    assert apply(frame.matrix, [(0, 0)])[0] == pytest.approx([-100, 400])


def test_only_an_image_that_lies_square_to_a_twentieth_of_a_pixel_is_left_as_it_is() -> None:
    def turned(by: float, mirrored: bool = False) -> Chart:
        cos, sin = 0.5 * np.cos(by), 0.5 * np.sin(by)
        across = -1 if mirrored else 1
        return Chart(np.array([[across * cos, sin, 30], [across * sin, -cos, 350], [0, 0, 1.0]]))

    assert lies_square(turned(0), SIZE)
    assert lies_square(turned(0.04 / 900), SIZE)
    assert not lies_square(turned(0.06 / 900), SIZE)
    assert not lies_square(turned(0, mirrored=True), SIZE)
    assert not any(lies_square(chart, SIZE) for chart in CHARTS.values())


def test_tiles_appear_whole_and_a_second_run_gives_the_same(tmp_path: Path) -> None:
    source = tmp_path / "old.png"
    weave = (pyvips.Image.sines(*SIZE, hfreq=40, vfreq=30) + 1) * 127
    weave.cast("uchar").write_to_file(str(source))
    chart = CHARTS["spline"]
    frame = frame_of(chart, chart.to_face(outline_px(*SIZE, 16)), FACE, SIZE)
    told: list[int] = []
    leftover = tmp_path / "tiles.part"
    leftover.mkdir()
    (leftover / "half of a tile.jpg").write_text("left by a run that was killed")
    rectify(source, chart, frame, tmp_path / "tiles", told.append)
    info = json.loads((tmp_path / "tiles" / "info.json").read_text())
    assert (info["width"], info["height"]) == (frame.width_px, frame.height_px)
    assert told == sorted(set(told))
    assert told[-1] == 100
    before = {p.name: p.read_bytes() for p in (tmp_path / "tiles").rglob("*.jpg")}
    assert "half of a tile.jpg" not in before
    rectify(source, chart, frame, tmp_path / "tiles")
    assert before == {p.name: p.read_bytes() for p in (tmp_path / "tiles").rglob("*.jpg")}
    assert not leftover.exists()


def test_a_file_that_cannot_be_read_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "old.png").write_bytes(b"no image")
    frame = Frame(0, 300, 1, 400, 300)
    with pytest.raises(PyramidError, match="cannot be redrawn"):
        rectify(tmp_path / "old.png", CHARTS["projective"], frame, tmp_path / "tiles")
    assert [path.name for path in tmp_path.iterdir()] == ["old.png"]
