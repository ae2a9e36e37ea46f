"""How far evidence narrows a history: counts and widths, for a page and a command."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import inf
from statistics import median
from typing import Any

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Figures:
    """Widths are of time points that have a last day: what is still there has no end yet."""

    items: int
    bounds: int
    from_evidence: int
    points: int
    median_years_before: float
    median_years_after: float
    conflicts: int

    @property
    def conflict_words(self) -> str:
        """'1 contradiction'."""
        return f"{self.conflicts} contradiction{'' if self.conflicts == 1 else 's'}"


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
        items=len(case["evidence"]),
        bounds=2 * len(found),
        from_evidence=sum(1 for reasons in result["reasons"].values() if reasons),
        points=len(widths),
        median_years_before=horizon,
        median_years_after=median(widths) if widths else horizon,
        conflicts=len(result["conflicts"]),
    )


@dataclass(frozen=True, slots=True)
class Tightened:
    """A time point that more evidence narrows: its days at each degree of trust."""

    point: str
    days: tuple[tuple[date, date | None], ...]

    @property
    def entity(self) -> str:
        return self.point.rsplit(".", 1)[0]

    @property
    def name(self) -> str:
        """'start', 'end', 'made' or 'gone'."""
        return self.point.rsplit(".", 1)[1]

    @property
    def gained_days(self) -> float:
        """By how many days it is narrower at the last degree than at the first."""
        first, last = _width(self.days[0]), _width(self.days[-1])
        return 0.0 if first == last else first - last


def _width(days: tuple[date, date | None]) -> float:
    return (days[1] - days[0]).days if days[1] else inf


def compare(results: Sequence[Mapping[str, Any]]) -> list[Tightened]:
    """Time points that differ between reconstructions, those that gain most first.

    A point that an end is found for, where there was none, gains most of all.
    """
    by_point: dict[str, list[tuple[date, date | None]]] = {}
    for result in results:
        for point, earliest, latest in points(result):
            by_point.setdefault(point, []).append((earliest, latest))
    changed = [
        Tightened(point, tuple(days))
        for point, days in by_point.items()
        if len(days) == len(results) and len(set(days)) > 1
    ]
    return sorted(changed, key=lambda t: (-t.gained_days, t.point))
