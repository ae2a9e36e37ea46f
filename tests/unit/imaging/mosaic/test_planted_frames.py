"""A picture cut into hundreds of frames with planted faults, and put together again.

The truth is where each frame was cut (see `cutting`). What no overlap can tell (where the mosaic
lies as a whole, how it is turned, how large it is) is taken off by the best similarity. The same at
the full size of the pictures: `full_size`.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from records.imaging import mosaic
from tests.unit.imaging.mosaic.cutting import Cut, Fit, Setup, cut, laid_on, picture
from tests.unit.imaging.mosaic.joining import Joined, blended, join_frames
from tests.unit.imaging.mosaic.seams import steps_at_edges

CAMERA = Setup(rows=15, columns=16, width=150, height=114)
FILMS = Setup(
    rows=7, columns=29, width=96, height=288, overlap=(0.25, 0.25),
    turn=0.003, size=0.0005, k1=0, k2=0, tilt=(0, 0), vignetting=0,
)  # fmt: skip
BLANK, FOREIGN, TWICE = 37, 90, 141
CASES = {"camera-visible": 2.0, "camera-xray": 2.0, "films-xray": 2.5}


@dataclass(frozen=True)
class Case:
    cut: Cut
    joined: Joined
    fit: Fit


@pytest.fixture(scope="module", params=CASES)
def case(request: pytest.FixtureRequest) -> Case:
    taken, name = request.param.split("-")
    setup = CAMERA if taken == "camera" else FILMS
    made = cut(setup, picture(name, CASES[request.param]))
    rng = np.random.default_rng(8)
    h, w = made.frames[0].shape
    made.frames[BLANK] = np.clip(made.flat + rng.normal(0, 2, (h, w)), 0, 255).astype(np.uint8)
    made.frames[FOREIGN] = np.ascontiguousarray(made.frames[12][::-1, ::-1])
    made.frames[TWICE] = made.frames[5].copy()
    nominal = mosaic.grid(setup.rows, setup.columns, setup.step)
    joined = join_frames(
        made.frames,
        [(w, h)] * len(made.frames),
        nominal,
        slack_px=12,
        dark=made.dark,
        flat=made.flat if taken == "camera" else None,
        estimate_lens=taken == "camera",
    )
    return Case(made, joined, laid_on(joined.middles, np.array(made.middles)[joined.placed]))


def test_it_works(case: Case) -> None:
    assert len(case.cut.frames) in range(200, 401)
    assert len(case.joined.placed) == len(case.cut.frames) - 3


def test_places_are_found_within_half_a_pixel(case: Case) -> None:
    assert case.fit.rms_px < 0.5
    assert case.fit.misses_px.max() < 1.5


def test_corners_are_found_as_well_as_middles(case: Case) -> None:
    """Turn, size, lens and tilt are right, not only the shift."""
    setup = case.cut.setup
    last = [[setup.width - 1, setup.height - 1]]
    found = np.concatenate(
        [
            case.joined.adjusted.mapping(k, setup.width, setup.height).to_mosaic(last)
            for k in case.joined.placed
        ]
    )
    misses = case.fit.to_picture(found) - np.array(case.cut.corners)[case.joined.placed]
    assert np.sqrt(np.mean((misses**2).sum(axis=1))) < 0.5


def test_frames_that_cannot_be_placed_are_named_with_the_reason(case: Case) -> None:
    why = case.joined.adjusted.why
    assert set(why) == {BLANK, FOREIGN, TWICE}
    assert why[BLANK].startswith("It is blank")
    for index in (FOREIGN, TWICE):
        assert "was recognised: the best correlation is" in why[index]
        assert case.joined.adjusted.places[index] is None


def test_exposures_meet_within_a_grey_level(case: Case) -> None:
    seams = [seam for seam in case.joined.evening.seams if seam is not None]
    assert len(seams) > 300
    assert np.median(seams) < 1


def test_the_report_gives_residuals_that_are_true(case: Case) -> None:
    """The residual told for an overlap is of the size of the true error between its two frames."""
    told = {(o.first, o.second): o.rms_px for o in case.joined.adjusted.overlaps if o.used}
    assert len(told) > 300
    assert 0 < np.median(list(told.values())) < 0.5
    assert case.joined.adjusted.rms_px < 0.5


def test_no_seam_is_left_in_the_mosaic(case: Case, tmp_path: Path) -> None:
    """At the edge of each frame, the step in what the mosaic and the picture differ by."""
    setup = case.cut.setup
    sizes = [(setup.width, setup.height)] * len(case.cut.frames)
    extent, whole = blended(case.joined, case.cut.save(tmp_path), sizes)
    steps = steps_at_edges(case.cut, case.joined, case.fit, extent, whole)
    assert len(steps) > 300
    assert np.nanmedian(steps) < 1
