"""How far evidence narrows a history: counts and widths, for a page and a command."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import Any

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Figures:
    """Widths are of time points that have a last day: what is still there has no end yet."""

    bounds: int
    from_evidence: int
    points: int
    median_years_before: float
    median_years_after: float
    conflicts: int


def points(result: Mapping[str, Any]) -> Iterator[tuple[str, date, date | None]]:
    """Every time point as ('trace:4.made', earliest day, latest day or None)."""
    for group in ("events", "traces"):
        for entity, bounds in result[group].items():
            for point, (earliest, latest) in bounds.items():
                last = date.fromisoformat(latest) if latest else None
                yield f"{entity}.{point}", date.fromisoformat(earliest), last


def figures(case: Mapping[str, Any], result: Mapping[str, Any]) -> Figures:
    """Figures of one reconstruction; before evidence a time point is as wide as the horizon."""
    first, last = (date.fromisoformat(case["horizon"][side]) for side in ("earliest", "latest"))
    horizon = (last - first).days / DAYS_PER_YEAR
    found = list(points(result))
    widths = [(b - a).days / DAYS_PER_YEAR for _, a, b in found if b is not None]
    return Figures(
        bounds=2 * len(found),
        from_evidence=sum(1 for reasons in result["reasons"].values() if reasons),
        points=len(widths),
        median_years_before=horizon,
        median_years_after=median(widths) if widths else horizon,
        conflicts=len(result["conflicts"]),
    )
