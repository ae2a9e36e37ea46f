"""The table of groups of bands, as read from groups.toml."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from analyses.spectra.findings import Certainty

TABLE = Path(__file__).with_name("groups.toml")
STRENGTHS = {"vs": 1.0, "s": 0.6, "m": 0.3, "w": 0.1}


@dataclass(frozen=True, slots=True)
class TableBand:
    """A band of a group: usual place, accepted range and width in cm⁻¹, strength in the group."""

    at: float
    low: float
    high: float
    strength: str
    what: str
    source: str
    needed: bool = False
    least_width: float = 0.0
    most_width: float = float("inf")

    @property
    def weight(self) -> float:
        return STRENGTHS[self.strength]


@dataclass(frozen=True, slots=True)
class Proportion:
    """The band at `of` is at least so many times as high as the band at `to`."""

    of: float
    to: float
    least: float


@dataclass(frozen=True, slots=True)
class Group:
    """Bands that go together, and the most that they can say by themselves."""

    code: str
    label: str
    materials: tuple[str, ...]
    surest: Certainty
    settle: str
    bands: tuple[TableBand, ...]
    proportions: tuple[Proportion, ...]


@cache
def groups() -> tuple[Group, ...]:
    """All groups of the table, in its order."""
    with TABLE.open("rb") as file:
        return tuple(_group(code, entry) for code, entry in tomllib.load(file).items())


def materials_of(code: str) -> tuple[str, ...]:
    """Codes of the materials that show a group's bands; none for an unknown code."""
    return next((group.materials for group in groups() if group.code == code), ())


def _group(code: str, entry: dict[str, Any]) -> Group:
    source = entry.get("source", "from memory")
    return Group(
        code,
        entry["label"],
        tuple(entry["materials"]),
        Certainty(entry.get("surest", Certainty.POSSIBLE)),
        entry.get("settle", ""),
        tuple(_band(band, source) for band in entry["bands"]),
        tuple(Proportion(**proportion) for proportion in entry.get("proportions", ())),
    )


def _band(entry: dict[str, Any], source: str) -> TableBand:
    low, high = entry["range"]
    least, most = entry.get("width", (0.0, float("inf")))
    return TableBand(
        entry["at"], low, high, entry["strength"], entry["what"], entry.get("source", source),
        entry.get("needed", False), least, most,
    )  # fmt: skip
