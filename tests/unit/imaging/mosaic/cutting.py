"""Cutting a picture into frames whose places are known, as a camera or films would have taken it.

Independent of the code under test: the lens is OpenCV's (which bends the other way round: its
polynomial makes the measured radius from the true one), the tilt a pinhole camera's.
"""

from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pyvips
from numpy.typing import NDArray

from fixtures.painting import make

SMALL_PX = 900


@cache
def picture(name: str, enlarged: float = 2.0) -> NDArray[np.float32]:
    """A small picture of the demonstration's painting, (rows, columns) of grey values."""
    image = pyvips.Image.new_from_file(str(make(SMALL_PX).path(name))).colourspace("b-w")
    return as_exposed(image, enlarged)


def as_exposed(image: pyvips.Image, enlarged: float = 1.0) -> NDArray[np.float32]:
    """Values 10 … 214, so that nothing burns out; (rows, columns), of colour with its bands."""
    values: NDArray[np.float32] = (
        (image.cast("float") * 0.8 + 10).resize(enlarged, kernel="cubic").numpy()
    )
    return values


@dataclass(frozen=True)
class Setup:
    """How the frames are taken. Lengths in pixels of a frame, angles in radians."""

    rows: int
    columns: int
    width: int
    height: int
    overlap: tuple[float, float] = (0.3, 0.3)
    jitter_px: float = 3.0
    turn: float = 0.004
    size: float = 0.002
    k1: float = -0.02
    k2: float = 0.005
    tilt: tuple[float, float] = (0.006, -0.004)
    vignetting: float = 0.35
    exposure: float = 0.08
    dark: float = 6.0
    noise: float = 2.0
    seed: int = 5

    @property
    def step(self) -> tuple[float, float]:
        return self.width * (1 - self.overlap[0]), self.height * (1 - self.overlap[1])


@dataclass
class Cut:
    """Frames as taken; where their middles and last pixels truly lie in the picture."""

    setup: Setup
    picture: NDArray[np.float32]
    frames: list[NDArray[np.uint8]] = field(default_factory=list)
    middles: list[NDArray[np.float64]] = field(default_factory=list)
    corners: list[NDArray[np.float64]] = field(default_factory=list)
    flat: NDArray[np.uint8] = field(default_factory=lambda: np.zeros((1, 1), np.uint8))
    dark: NDArray[np.uint8] = field(default_factory=lambda: np.zeros((1, 1), np.uint8))

    def save(self, folder: Path) -> list[Path]:
        """The frames as TIFF files, in their order."""
        paths = []
        for number, frame in enumerate(self.frames):
            paths.append(folder / f"frame-{number:03}.tif")
            pyvips.Image.new_from_array(frame).write_to_file(str(paths[-1]))
        return paths


def cut(setup: Setup, of: NDArray[np.float32]) -> Cut:
    """Take the frames of a picture, row by row from the upper left corner."""
    rng = np.random.default_rng(setup.seed)
    w, h = setup.width, setup.height
    unit = float(np.hypot(w, h) / 2)
    matrix = np.array([[unit, 0, (w - 1) / 2], [0, unit, (h - 1) / 2], [0, 0, 1]])
    yy, xx = np.mgrid[0:h, 0:w]
    pixels = np.column_stack([xx.ravel(), yy.ravel()]).astype(np.float64)
    bent = np.array([setup.k1, setup.k2, 0, 0])
    u = cv2.undistortPoints(pixels.reshape(-1, 1, 2), matrix, bent).reshape(-1, 2)
    v = u / (1 + u @ np.array(setup.tilt))[:, None]
    r2 = ((pixels - matrix[:2, 2]) ** 2).sum(axis=1) / unit**2
    light = (1 - setup.vignetting * r2**1.5 / (1 + 0.2 * r2)).reshape(h, w, *[1] * (of.ndim - 2))
    made = Cut(setup, of)
    for row in range(setup.rows):
        for column in range(setup.columns):
            at = np.array([column * setup.step[0] + w / 2, row * setup.step[1] + h / 2]) + 8
            at = at + rng.uniform(-setup.jitter_px, setup.jitter_px, 2)
            angle, size = rng.normal(0, setup.turn), 1 + rng.normal(0, setup.size)
            turn = size * np.array(
                [[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]
            )
            points = (at + unit * (v @ turn.T)).astype(np.float32)
            seen = cv2.remap(
                of, points[:, 0].reshape(h, w), points[:, 1].reshape(h, w), cv2.INTER_CUBIC,
                borderMode=cv2.BORDER_REFLECT,
            )  # fmt: skip
            exposed = seen * light * (1 + rng.uniform(-setup.exposure, setup.exposure))
            exposed += setup.dark + rng.normal(0, setup.noise, seen.shape)
            made.frames.append(_bytes(exposed))
            made.middles.append(at)
            made.corners.append(at + unit * (turn @ v[-1]))
    made.flat = _bytes(np.broadcast_to(190 * light + setup.dark, (h, w, *of.shape[2:])))
    made.dark = _bytes(np.full((h, w, *of.shape[2:]), setup.dark))
    return made


def _bytes(values: Any) -> NDArray[np.uint8]:
    return np.asarray(np.clip(np.rint(values), 0, 255), np.uint8)


@dataclass(frozen=True)
class Fit:
    """The similarity that best lays found middles on true ones, and what it leaves."""

    factor: complex
    shift: complex
    misses_px: NDArray[np.float64]

    @property
    def rms_px(self) -> float:
        return float(np.sqrt(np.mean(self.misses_px**2)))

    def to_picture(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        z = self.factor * (points @ [1, 1j]) + self.shift
        return np.stack([z.real, z.imag], axis=-1)


def laid_on(found: NDArray[np.float64], true: NDArray[np.float64]) -> Fit:
    """Where a mosaic lies as a whole, how it is turned and how large it is, no overlap can tell:
    found places are compared with true ones after the best similarity."""
    z, w = found @ [1, 1j], true @ [1, 1j]
    z0, w0 = z.mean(), w.mean()
    factor = np.vdot(z - z0, w - w0) / np.vdot(z - z0, z - z0)
    shift = w0 - factor * z0
    return Fit(factor, shift, np.abs(factor * z + shift - w))
