"""How a pixel of a frame lies in the mosaic: lens, tilt, and the place of the frame.

A pixel (column, row), the middle of the first pixel being (0, 0), goes through three steps:

    d = (pixel − middle of the frame) / half diagonal
    u = d · (1 + k1 r² + k2 r⁴),  r = |d|         radial distortion: D. C. Brown, Close-range camera
                                                  calibration, Photogrammetric Engineering 37 (1971)
    v = u / (1 + (p + p_frame) · u)               the camera a little tilted
    mosaic = t + half diagonal · [[a, −b], [b, a]] · v

Mosaic coordinates are pixels, rows downwards, like those of frames.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Camera:
    """What all frames share: radial distortion k1, k2 and a tilt (px, py), both without unit."""

    k1: float = 0.0
    k2: float = 0.0
    px: float = 0.0
    py: float = 0.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where the middle of a frame lies, its turn and size (a, b), and its own tilt."""

    x: float
    y: float
    a: float = 1.0
    b: float = 0.0
    px: float = 0.0
    py: float = 0.0

    def to_json(self) -> list[float]:
        return [self.x, self.y, self.a, self.b, self.px, self.py]

    @classmethod
    def from_json(cls, told: Sequence[float]) -> "Place":
        return cls(*told)


@dataclass(frozen=True, slots=True)
class Mapping:
    """The way between the pixels of one frame and the mosaic."""

    width_px: int
    height_px: int
    camera: Camera
    place: Place
    unit: float = field(init=False)
    middle: Array = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "unit", half_diagonal(self.width_px, self.height_px))
        object.__setattr__(self, "middle", middle(self.width_px, self.height_px))

    def to_mosaic(self, pixels: Any) -> Array:
        """Frame pixels (n, 2) as mosaic pixels (n, 2)."""
        d = (np.asarray(pixels, float).reshape(-1, 2) - self.middle) / self.unit
        r2 = (d * d).sum(axis=1, keepdims=True)
        u = d * (1 + self.camera.k1 * r2 + self.camera.k2 * r2 * r2)
        tilt = np.array([self.camera.px + self.place.px, self.camera.py + self.place.py])
        v = u / (1 + u @ tilt)[:, None]
        turn = np.array([[self.place.a, -self.place.b], [self.place.b, self.place.a]])
        return np.asarray([self.place.x, self.place.y] + self.unit * (v @ turn.T), float)

    def to_frame(self, points: Any) -> Array:
        """Mosaic pixels (n, 2) as frame pixels (n, 2); far outside the frame not to be trusted."""
        size2 = self.place.a**2 + self.place.b**2
        back = np.array([[self.place.a, self.place.b], [-self.place.b, self.place.a]]) / size2
        shift = np.asarray(points, float).reshape(-1, 2) - [self.place.x, self.place.y]
        v = (shift / self.unit) @ back.T
        tilt = np.array([self.camera.px + self.place.px, self.camera.py + self.place.py])
        u = v / (1 - v @ tilt)[:, None]
        d = u * inverse_radial(np.sqrt((u * u).sum(axis=1)), self.camera)[:, None]
        return np.asarray(self.middle + self.unit * d, float)

    def outline(self) -> Array:
        """The edge of the frame in the mosaic, (n, 2): corners and points between them."""
        w, h = self.width_px - 0.5, self.height_px - 0.5
        along = np.linspace(0, 1, 9)[:-1]
        edge = np.concatenate(
            [
                np.column_stack([-0.5 + along * (w + 0.5), np.full(8, -0.5)]),
                np.column_stack([np.full(8, w), -0.5 + along * (h + 0.5)]),
                np.column_stack([w - along * (w + 0.5), np.full(8, h)]),
                np.column_stack([np.full(8, -0.5), h - along * (h + 0.5)]),
            ]
        )
        return self.to_mosaic(edge)


def half_diagonal(width_px: int, height_px: int) -> float:
    """Half the diagonal of a frame, in pixels: the unit of the radius in Brown's form."""
    return float(np.hypot(width_px, height_px) / 2)


def middle(width_px: int, height_px: int) -> Array:
    """The middle of a frame in its own pixels."""
    return np.array([(width_px - 1) / 2, (height_px - 1) / 2])


def inverse_radial(true_radius: Any, camera: Camera) -> Array:
    """The factor that brings true radii (half diagonals) back to radii in the frame.

    Newton's iteration on r (1 + k1 r² + k2 r⁴) = true radius; radii beyond 1.5 are held there.
    """
    wanted = np.minimum(np.asarray(true_radius, float), 1.5)
    if camera.k1 == 0 and camera.k2 == 0:
        return np.ones_like(wanted)
    r = wanted.copy()
    for _ in range(6):
        r2 = r * r
        missed = r * (1 + camera.k1 * r2 + camera.k2 * r2 * r2) - wanted
        slope = 1 + 3 * camera.k1 * r2 + 5 * camera.k2 * r2 * r2
        r -= missed / np.maximum(slope, 0.2)
    return np.asarray(np.where(wanted > 0, r / np.where(wanted > 0, wanted, 1), 1.0), float)
