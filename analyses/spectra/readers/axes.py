"""Units as files write them to the units of a curve, and values set in ascending order."""

import re
from collections.abc import Callable

import numpy as np

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.readers.text import MOST_POINTS, Unreadable


def _same(values: Array) -> Array:
    return values


def _thousandth(values: Array) -> Array:
    return values / 1000


def _thousandfold(values: Array) -> Array:
    return values * 1000


def _tenfold(values: Array) -> Array:
    return values * 10


def _from_micrometres(values: Array) -> Array:
    """Wavelength in µm to wavenumber in cm⁻¹."""
    with np.errstate(divide="ignore"):
        return 1e4 / values


# What a heading, unit or label must match (small letters, no blanks), the unit, the conversion.
X_UNITS: tuple[tuple[str, str, Callable[[Array], Array]], ...] = (
    (r"kev\b", Axis.ENERGY, _same),
    (r"(^|[^kma-z])ev\b|electronvolt", Axis.ENERGY, _thousandth),
    (r"2[- ]?theta|2[- ]?th\b|2θ|two[- ]?theta|°2|deg", Axis.TWO_THETA, _same),
    (
        r"1/cm|cm-1|cm\^-1|cm\^\(-1\)|cm⁻¹|cm−1|cm\*\*-1|wave ?numbers?|wellenzahl",
        Axis.WAVENUMBER,
        _same,
    ),
    (r"nanomet|\bnm\b", Axis.WAVELENGTH, _same),
    (r"micromet|microns?\b|\bum\b|µm|μm", Axis.WAVENUMBER, _from_micrometres),
    (r"angstr|ångstr|å|\bd[- ]?(spacing|value)", Axis.SPACING, _same),
)
Y_UNITS: tuple[tuple[str, str, float], ...] = (
    (r"%[ .]*t\b|%[ .]*transm|transm\w*[ .(\[]*%|percent trans", "transmittance", 0.01),
    (r"transmitt|transmission|^t$", "transmittance", 1),
    (r"%[ .]*r\b|%[ .]*refl|refl\w*[ .(\[]*%", "reflectance", 0.01),
    (r"kubelka", "Kubelka–Munk units", 1),
    (r"log.*1/r", "log 1/R", 1),
    (r"reflect|^r$", "reflectance", 1),
    (r"absor[bp]|extin[ck]t|^a$|^abs\b|a\.u\. \(abs", "absorbance", 1),
    (r"cps|counts?[ /]*(per|/)[ ]*s", "counts/s", 1),
    (r"count|^cts\b|impuls|pulses", "counts", 1),
    (r"intens|arb|^i\b|^y_?(obs|exp)\b", "intensity", 1),
)


def x_unit(words: str) -> tuple[str, Callable[[Array], Array]] | None:
    """The unit of a horizontal axis that these words name, and how values come into it."""
    given = words.casefold().strip()
    for pattern, unit, convert in X_UNITS:
        if re.search(pattern, given):
            return unit, convert
    return None


def y_unit(words: str) -> tuple[str, float] | None:
    """The quantity that these words name, and the factor that brings values to it."""
    given = words.casefold().strip()
    for pattern, unit, factor in Y_UNITS:
        if re.search(pattern, given):
            return unit, factor
    return None


def curve(
    x: Array,
    y: Array,
    x_words: str,
    y_words: str,
    *,
    format: str,
    told: dict[str, str],
    lines: list[int] | None = None,
) -> Curve:
    """The curve in its units, ascending; `lines` names the line of each value for errors.

    Words that name no known unit are kept as they are.
    """
    if len(x) != len(y) or len(x) < 2:
        raise Unreadable(
            f"The file has {len(x)} places and {len(y)} values; a curve has at least two of each, "
            "and as many of one as of the other. Export it again."
        )
    if len(x) > MOST_POINTS:
        raise Unreadable(f"The file has more than {MOST_POINTS:,} values. Export a shorter range.")

    def line(at: int) -> int | None:
        return lines[at] if lines else None

    steps = np.diff(x)
    turn = np.sign(np.median(np.sign(steps))) or np.sign(x[-1] - x[0])
    wrong = np.flatnonzero(steps * turn <= 0)
    if len(wrong):
        at = int(wrong[0]) + 1
        how = "stands twice" if steps[at - 1] == 0 else "breaks the order of the axis"
        raise Unreadable(
            f"the place {x[at]:g} {how}. Each measurement needs a file of its own, with its places "
            "in ascending or descending order.",
            line(at),
        )
    known_x, known_y = x_unit(x_words), y_unit(y_words)
    unit, convert = known_x or (x_words.strip(), _same)
    if convert is _from_micrometres and x.min() <= 0:
        raise Unreadable("a wavelength must be greater than zero.", line(int(x.argmin())))
    x = convert(x)
    if x[0] > x[-1]:
        x, y = x[::-1], y[::-1]
    quantity, factor = known_y or (y_words.strip(), 1)
    return Curve(np.ascontiguousarray(x), np.ascontiguousarray(y * factor), unit, quantity,
                 format, told)  # fmt: skip
