"""Points that the machine proposes, against the truth of made-up photographs of one picture."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from scipy import ndimage

from records.imaging import matching
from records.imaging.fits import Array, apply, fit

# An old photograph of the face, seen aslant: where its pixels lie in the reference, in pixels.
ASLANT = np.array([[1.5, 0.08, -40.0], [-0.03, 1.45, -25.0], [2e-5, -1e-5, 1.0]])


def painted(seed: int, height: int = 520, width: int = 700) -> Array:
    """Blots and strokes of every size, 0 to 1, as no two pictures share them."""
    rng = np.random.default_rng(seed)
    picture: Any = sum(
        ndimage.zoom(rng.normal(0, 1, (height // size + 3, width // size + 3)), size, order=1)[
            :height, :width
        ]
        * size**0.4
        for size in (4, 9, 20, 50)
    )
    return np.asarray((picture - picture.min()) / np.ptp(picture))


def photographed(picture: Array, bend: float = 0.0) -> tuple[Array, Array]:
    """The picture in a photograph, 480 × 360 px, and for each of its pixels where that lies."""
    columns, rows = np.meshgrid(np.arange(480) + 0.5, np.arange(360) + 0.5, indexing="xy")
    px = np.column_stack([columns.ravel(), rows.ravel()])
    away = (px - (240, 180)) / 480
    bent = (240, 180) + (px - (240, 180)) * (1 - bend * np.sum(away**2, axis=1))[:, None]
    there = apply(ASLANT, bent)
    soft = ndimage.gaussian_filter(picture, 0.6)
    seen = ndimage.map_coordinates(soft, (there[:, ::-1] - 0.5).T, order=1, mode="nearest")
    return seen.reshape(360, 480), there


def kept(values: Array, path: Path) -> Path:
    pixels = np.clip(values * 255, 0, 255).astype(np.uint8)
    pyvips.Image.new_from_array(pixels).write_to_file(str(path))
    return path


def test_points_of_a_grey_faded_and_bent_photograph_are_true_to_half_a_pixel(
    tmp_path: Path,
) -> None:
    picture = painted(1)
    seen, there = photographed(picture, bend=0.02)
    grain = np.random.default_rng(2).normal(0, 0.03, seen.shape)
    old = kept(0.2 + 0.5 * seen**1.4 + grain, tmp_path / "old.png")
    new = kept(picture, tmp_path / "new.png")
    found = matching.match(matching.small_copy(old), matching.small_copy(new))
    assert len(found.pairs) >= 12
    px = np.array([pair.px for pair in found.pairs])
    truth = there.reshape(360, 480, 2)[px[:, 1].astype(int), px[:, 0].astype(int)]
    truth = truth + (px % 1 - 0.5) * 1.5
    missed = np.linalg.norm([pair.on for pair in found.pairs] - truth, axis=1)
    assert np.sqrt(np.mean(missed**2)) < 0.75  # pixels of the reference: half of one of the old
    # Spread over the common part: they hold a view aslant everywhere, not only where they lie.
    chart = fit(px, [pair.on for pair in found.pairs], "projective")
    everywhere = np.linalg.norm(
        chart.to_face([(40, 40), (440, 320)]) - apply(ASLANT, [(40, 40), (440, 320)]), axis=1
    )
    assert everywhere.max() < 4
    assert found.words.startswith(f"{found.agreeing} of {found.alike} details")


def test_a_negative_is_matched_by_its_edges(tmp_path: Path) -> None:
    picture = painted(3, 420, 560)
    seen = photographed(picture)[0][:270, :350]
    found = matching.match(
        matching.small_copy(kept(1 - seen, tmp_path / "negative.png")),
        matching.small_copy(kept(picture, tmp_path / "new.png")),
    )
    assert len(found.pairs) >= 8
    assert found.compared == "edges, whichever side is the lighter"


def test_the_same_images_always_give_the_same_points(tmp_path: Path) -> None:
    picture = painted(4, 300, 400)
    old = matching.small_copy(kept(photographed(picture)[0][:230, :300], tmp_path / "old.png"))
    new = matching.small_copy(kept(picture, tmp_path / "new.png"))
    found = matching.match(old, new)
    assert found.pairs
    assert matching.match(old, new) == found


def test_nothing_is_proposed_between_two_different_pictures(tmp_path: Path) -> None:
    seen, _ = photographed(painted(5))
    found = matching.match(
        matching.small_copy(kept(seen[:230, :300], tmp_path / "one.png")),
        matching.small_copy(kept(painted(6, 300, 400), tmp_path / "other.png")),
    )
    assert found.pairs == ()
    assert found.words.startswith("No points can be proposed: ")
    assert "Set the points by hand" in found.words


def test_a_file_that_is_no_image_is_told(tmp_path: Path) -> None:
    (tmp_path / "letter.tif").write_text("Dear Sir")
    with pytest.raises(matching.UnreadableError, match="cannot be read"):
        matching.small_copy(tmp_path / "letter.tif")
    with pytest.raises(matching.UnreadableError, match="not in the store"):
        matching.small_copy(tmp_path / "gone.tif")
