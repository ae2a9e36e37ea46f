"""Measured values in print: a unit that suits their size, and no more digits than they deserve."""

from math import floor, log10

SPACE = "\N{NARROW NO-BREAK SPACE}"

# (from this many base units on, the unit, base units in one of it)
AREAS = ((1e6, "m²", 1e6), (1e3, "cm²", 1e2), (0.0, "mm²", 1.0))
LENGTHS = ((1e4, "m", 1e3), (1e2, "cm", 1e1), (0.0, "mm", 1.0))
Units = tuple[tuple[float, str, float], ...]


def number(value: float, decimals: int) -> str:
    """A number with a thin space between thousands; negative decimals round to tens, hundreds …"""
    rounded = round(value, decimals)
    return f"{rounded:,.{max(decimals, 0)}f}".replace(",", SPACE)


def decimals_for(uncertainty: float) -> int:
    """Decimals that keep one digit of an uncertainty, two when it begins with 1.

    0.34 gives 1, 0.14 gives 2, 12 gives 0, 45 gives -1 (round to tens).
    """
    exponent = floor(log10(uncertainty))
    first = uncertainty / 10**exponent
    return -exponent + (1 if first < 1.95 else 0)


def measured(value: float, uncertainty: float | None, units: Units) -> str:
    """'184 ± 6 mm²'; without an uncertainty three significant digits and no ±."""
    _, unit, size = next(u for u in units if value >= u[0])
    value = value / size
    if uncertainty:
        spread = uncertainty / size
        decimals = decimals_for(spread)
        return f"{number(value, decimals)} ± {number(spread, decimals)}{SPACE}{unit}"
    if value <= 0:
        return f"0{SPACE}{unit}"
    decimals = max(0, 2 - floor(log10(value)))
    return f"{number(value, decimals)}{SPACE}{unit}"


def area(mm2: float, uncertainty_mm2: float | None = None) -> str:
    """An area given in mm²."""
    return measured(mm2, uncertainty_mm2, AREAS)


def length(mm: float, uncertainty_mm: float | None = None) -> str:
    """A length given in mm."""
    return measured(mm, uncertainty_mm, LENGTHS)


def millimetres(mm: float) -> str:
    """An error or the size of a pixel, always in mm so that such numbers compare: two digits."""
    decimals = min(4, max(0, 1 - floor(log10(mm)))) if mm > 0 else 0
    return f"{number(mm, decimals)}{SPACE}mm"


def bar_length(span_mm: float) -> float:
    """The longest round length (1, 2 or 5 times a power of ten) within a span, in its unit."""
    power = 10.0 ** floor(log10(span_mm))
    return max(m * power for m in (1, 2, 5) if m * power <= span_mm)


def share(part: float, whole: float) -> str:
    """A part of a whole in per cent; what is there but tiny is not rounded to nothing."""
    if whole <= 0:
        return ""
    percent = 100 * part / whole
    if 0 < percent < 0.1:
        return f"< 0.1{SPACE}%"
    return f"{percent:.1f}{SPACE}%" if percent < 10 else f"{percent:.0f}{SPACE}%"


def file_size(size: int) -> str:
    """Bytes as kB or MB (powers of ten)."""
    for unit, factor in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if size >= factor:
            value = size / factor
            return f"{value:.1f}{SPACE}{unit}" if value < 10 else f"{value:.0f}{SPACE}{unit}"
    return f"{size}{SPACE}bytes"
