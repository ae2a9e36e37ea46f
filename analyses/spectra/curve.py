"""A measured curve: one value for each place on an axis, and what its file says of itself."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Axis:
    """Units of the horizontal axis, as plots and files name them."""

    ENERGY = "keV"
    TWO_THETA = "° 2θ"
    SPACING = "Å"
    WAVENUMBER = "cm⁻¹"
    WAVELENGTH = "nm"
    UNKNOWN = ""


@dataclass(frozen=True, slots=True)
class Curve:
    """`x` (n,) ascending in `x_unit`; `y` (n,) in `y_unit` ('counts', 'absorbance', …).

    `told` is what the file says besides, by the file's own names ('beam_energy', 'wavelength', …),
    as text; `format` names the format that it was read as.
    """

    x: Array
    y: Array
    x_unit: str
    y_unit: str
    format: str = ""
    told: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.x.shape != self.y.shape or self.x.ndim != 1 or len(self.x) < 2:
            raise ValueError("A curve needs as many values as places, at least two of each.")
        if not (np.isfinite(self.x).all() and np.isfinite(self.y).all()):
            raise ValueError("A curve holds a value that is not a number.")
        if not (np.diff(self.x) > 0).all():
            raise ValueError("The places of a curve must ascend.")
