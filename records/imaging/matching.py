"""Points that two images of one face share, found by the machine for a person to look at.

Works on small grey copies. Local features (SIFT, Lowe 2004, doi:10.1023/B:VISI.0000029664.99615.94)
of both images are paired by likeness; a plane seen twice differs by a projective transformation, so
the pairs that agree on one (MAGSAC++, Barath and others 2020) are kept. Bands differ in what is
light and what is dark: gradients without their sign are compared where brightness fails.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pyvips
from scipy.spatial import cKDTree

from records.imaging.fits import Array, apply
from records.imaging.originals import OriginalError, readable

VERSION = "1"
WORK_PX = 1400  # the longer side of the copies
FEATURES = 6000
RATIO = 0.85  # of the distance of the best partner to that of the next best
REACH_PX = 3.0  # how far a pair may miss the common transformation, in pixels of the copy
# A lens bends what a plane keeps straight: a pair may miss the plane by more if it misses as its
# neighbours do.
BENT_PX, ALONE_PX, NEIGHBOURS = 12.0, 1.5, 8
CELLS = (6, 5)  # at most one point is proposed in each cell of the common part

# A match is believed when more pairs agree than 8 and 0.3 of those that might: Brown and Lowe 2007,
# doi:10.1007/s11263-006-0002-3, equation 13.
LEAST_AGREEING, SHARE_AGREEING = 8.0, 0.3
TRUSTED = 25  # so many that agree on one transformation, over a wide part, are no chance either
LEAST_PART = 0.08  # of the image that the agreeing pairs must enclose


class UnreadableError(Exception):
    """A file cannot be read as an image; the message is for people."""


@dataclass(frozen=True)
class Pair:
    """The same detail in both images, in pixels of the files; `missed_px` of the image."""

    px: tuple[float, float]
    on: tuple[float, float]
    missed_px: float


@dataclass(frozen=True)
class Match:
    """What was found: the pairs to propose, none when it cannot be trusted, and words for it."""

    pairs: tuple[Pair, ...]
    words: str
    compared: str = ""
    alike: int = 0
    agreeing: int = 0

    def told(self) -> dict[str, Any]:
        return {
            "version": VERSION,
            "compared": self.compared,
            "alike": self.alike,
            "agreeing": self.agreeing,
            "ratio": RATIO,
            "reach_px": REACH_PX,
            "longer_side_px": WORK_PX,
        }


@dataclass(frozen=True)
class Copy:
    """A small grey copy: (rows, columns) bytes; `scale` is its pixels over those of the file."""

    grey: Any
    scale: float

    def in_file(self, px: Any) -> Array:
        """Places of features as OpenCV gives them (0, 0 is the middle of a pixel) in the file."""
        return (np.asarray(px, float) + 0.5) / self.scale


def small_copy(path: Path, longer_px: int = WORK_PX) -> Copy:
    """Read a file as a small grey copy without holding the whole of it in memory."""
    try:
        with readable(path) as file:
            header = pyvips.Image.new_from_file(str(file))
            small = pyvips.Image.thumbnail(str(file), longer_px, size="down", no_rotate=True)
            if small.hasalpha():
                small = small.flatten(background=255)
            if small.bands > 2:
                small = small.colourspace("grey16")
            values = np.asarray(small.extract_band(0).numpy(), np.float32)
    except (pyvips.Error, OriginalError) as error:
        raise UnreadableError(f"The image cannot be read ({str(error).strip()}).") from error
    except FileNotFoundError as error:
        raise UnreadableError("The original is not in the store.") from error
    low, high = np.percentile(values, (0.5, 99.5))
    grey8 = np.clip((values - low) / max(high - low, 1e-6) * 255, 0, 255).astype(np.uint8)
    return Copy(grey8, small.width / header.width)


def even(grey: Any) -> Any:
    """Light and contrast made even over the picture."""
    return cv2.createCLAHE(3.0, (8, 8)).apply(grey)


def edges(grey: Any) -> Any:
    """How strongly the brightness changes, whichever way: alike for a picture and its negative."""
    soft = cv2.GaussianBlur(even(grey), (0, 0), 1.5)
    across, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    size = np.sqrt(cv2.magnitude(across, down))
    return np.clip(size / max(float(np.percentile(size, 99)), 1e-6) * 255, 0, 255).astype(np.uint8)


VIEWS: Sequence[tuple[str, Callable[[Any], Any]]] = (
    ("brightness", even),
    ("edges, whichever side is the lighter", edges),
)


def match(image: Copy, reference: Copy, on_percent: Callable[[int], None] | None = None) -> Match:
    """Find pairs of places that the two images share."""
    tell = on_percent or (lambda percent: None)
    tried: list[Match] = []
    for step, (name, view) in enumerate(VIEWS):
        alike = _alike(view(image.grey), view(reference.grey))
        tell(45 * (step + 1))
        tried.append(_agreeing(image, reference, alike, name))
        if tried[-1].pairs:
            return tried[-1]
    return max(tried, key=lambda one: one.agreeing)


def _alike(image: Any, reference: Any) -> tuple[Array, Array]:
    """Features that are each other's best partner, and clearly so: pixels (n, 2) of each."""
    detector = cv2.SIFT.create(nfeatures=FEATURES, contrastThreshold=0.01)
    points, told = detector.detectAndCompute(image, None)
    others, told_of_others = detector.detectAndCompute(reference, None)
    if min(len(points), len(others)) < 2:
        return np.empty((0, 2)), np.empty((0, 2))
    there = _best(_rooted(told), _rooted(told_of_others))
    back = _best(_rooted(told_of_others), _rooted(told))
    kept = [(i, j) for i, (j, clear) in there.items() if back[j][0] == i and clear]
    return (
        np.array([points[i].pt for i, _ in kept]).reshape(-1, 2),
        np.array([others[j].pt for _, j in kept]).reshape(-1, 2),
    )


def _rooted(told: Any) -> Any:
    """Descriptors compared by Hellinger's distance (Arandjelović and Zisserman 2012)."""
    return np.sqrt(told / np.maximum(told.sum(axis=1, keepdims=True), 1e-6)).astype(np.float32)


def _best(told: Any, others: Any) -> dict[int, tuple[int, bool]]:
    found = cv2.BFMatcher(cv2.NORM_L2).knnMatch(told, others, k=2)
    return {
        first.queryIdx: (first.trainIdx, first.distance < RATIO * second.distance)
        for first, second in found
    }


def _agreeing(image: Copy, reference: Copy, alike: tuple[Array, Array], name: str) -> Match:
    here, there = alike
    nothing = Match((), "", name, len(here), 0)
    if len(here) < 4:
        return _refused(nothing, "hardly anything in the two images looks alike")
    cv2.setRNGSeed(1)  # the same images always give the same proposal
    matrix: Any
    matrix, mask = cv2.findHomography(
        here, there, cv2.USAC_MAGSAC, REACH_PX, maxIters=20_000, confidence=0.9999
    )
    if matrix is None:
        return _refused(nothing, "what looks alike does not lie alike")
    agree = mask.ravel().astype(bool)
    found = Match((), "", name, len(here), int(agree.sum()))
    height, width = image.grey.shape
    if why := _doubt(matrix, here, agree, (width, height)):
        return _refused(found, why)
    missed = _missed_alone(here, apply(np.linalg.inv(matrix), there) - here, agree)
    agree = missed < ALONE_PX
    found = replace(found, agreeing=int(agree.sum()))
    chosen = _well_spread(here, missed, agree)
    pairs = tuple(
        Pair(tuple(px), tuple(on), float(off / image.scale))
        for px, on, off in zip(
            image.in_file(here[chosen]).round(2).tolist(),
            reference.in_file(there[chosen]).round(2).tolist(),
            missed[chosen],
            strict=True,
        )
    )
    words = (
        f"{found.agreeing} of {found.alike} details that look alike (by {name}) lie alike; "
        f"{len(pairs)} of them, spread over the common part, are proposed. Look at each."
    )
    return Match(pairs, words, name, found.alike, found.agreeing)


def _refused(found: Match, why: str) -> Match:
    words = (
        f"No points can be proposed: {why}. Set the points by hand, or try another placed image, "
        "best of the same kind of light."
    )
    return Match((), words, found.compared, found.alike, found.agreeing)


def _doubt(matrix: Any, here: Array, agree: Any, size: tuple[int, int]) -> str:
    """Why the pairs that agree may do so by chance; '' when they do not."""
    count, of = int(agree.sum()), len(here)
    needed = min(LEAST_AGREEING + SHARE_AGREEING * of, TRUSTED)
    if count < needed:
        return f"of {of} details that look alike only {count} lie alike, which may be chance"
    width, height = size
    corners = apply(matrix, [(0, 0), (width, 0), (width, height), (0, height)])
    sides = np.roll(corners, -1, axis=0) - corners
    following = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * following[:, 1] - sides[:, 1] * following[:, 0]
    if not (turns > 0).all():
        return "the details that lie alike would fold the image or turn it over"
    lengths = np.linalg.norm(sides, axis=1)
    if lengths.max() > 4 * lengths.min() * max(width, height) / min(width, height):
        return "the details that lie alike would tilt the image beyond belief"
    hull = cv2.convexHull(here[agree].astype(np.float32))
    if cv2.contourArea(hull) < LEAST_PART * width * height:
        return "the details that lie alike are crowded in one small part"
    return ""


def _missed_alone(here: Array, off: Array, agree: Any) -> Array:
    """How far each pair misses the common plane otherwise than its neighbours do, in pixels."""
    tree = cKDTree(here[agree])
    _, near = tree.query(here, k=min(NEIGHBOURS, int(agree.sum())))
    alone = np.linalg.norm(off - np.median(off[agree][near], axis=1), axis=1)
    return np.where(np.linalg.norm(off, axis=1) < BENT_PX, alone, np.inf)


def _well_spread(here: Array, missed: Array, agree: Any) -> list[int]:
    """Of the pairs that agree, the best of each cell, by how little they miss."""
    kept = np.flatnonzero(agree)
    low, high = here[kept].min(axis=0), here[kept].max(axis=0)
    cells = np.minimum((here[kept] - low) / (high - low + 1e-9) * CELLS, np.array(CELLS) - 1)
    best: dict[tuple[int, ...], int] = {}
    for index, cell in sorted(
        zip(kept, cells.astype(int), strict=True), key=lambda one: missed[one[0]]
    ):
        best.setdefault(tuple(cell), int(index))
    return sorted(best.values(), key=lambda index: missed[index])
