"""Reading a survey file: GeoJSON (RFC 7946) whose coordinates are face millimetres.

Knows what the file may hold (`PROPERTIES`), not what the records hold. No Django here.
"""

import json
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from records.imports.problems import Problem, nearest


@dataclass(frozen=True, slots=True)
class Property:
    """One property that a feature may carry."""

    name: str
    needed: str
    meaning: str
    example: str
    max_length: int | None = None


PROPERTIES = (
    Property("number", "always", "Number of the trace on its face, at most 24 characters. A number "
             "that the face has already adds a sighting to that trace.", "17", 24),
    Property("kind", "for a new trace", "Kind of trace: its code, its label in English, German or "
             "French, or its short label.", "crack"),
    Property("label", "no", "A few words for a new trace, at most 200 characters.",
             "tear, lower left", 200),
    Property("description", "no", "More words for a new trace.", "Edges frayed, threads complete."),
    Property("outcome", "no", "seen, not_seen or unclear; seen when absent.", "seen"),
    Property("strength", "no", "firm, likely or tentative; firm when absent.", "firm"),
    Property("uncertainty_mm", "no", "How far the drawn edge may be off, in millimetres.", "0.5"),
    Property("note", "no", "What there is to say of this sighting.", "longer by 4 mm than before"),
)  # fmt: skip
NAMES = tuple(p.name for p in PROPERTIES)
OUTCOMES = ("seen", "not_seen", "unclear")
STRENGTHS = ("firm", "likely", "tentative")

# How deep the positions lie in the coordinates of each type of geometry.
DEPTHS = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}


@dataclass(slots=True)
class Feature:
    """One feature as read; `position` counts from 1 in the order of the file.

    `faulty` holds the names of what was given but cannot be used.
    """

    position: int
    number: str = ""
    kind: str = ""
    label: str = ""
    description: str = ""
    outcome: str = "seen"
    strength: str = "firm"
    uncertainty_mm: float | None = None
    note: str = ""
    geometry: dict[str, Any] | None = None
    faulty: set[str] = field(default_factory=set)

    def place(self, name: str) -> str:
        return f"Feature {self.position}, property {name}"

    @property
    def geometry_place(self) -> str:
        return f"Feature {self.position}, geometry"


def read(data: bytes) -> tuple[list[Feature], list[Problem]]:
    """The features of a file and everything that is wrong with it on its own."""
    try:
        content = json.loads(data.decode("utf-8-sig"), parse_constant=_no_number)
    except UnicodeDecodeError as error:
        return [], [
            Problem("File", f"is not UTF-8 text (byte {error.start + 1}). Save it as UTF-8.")
        ]
    except json.JSONDecodeError as error:
        return [], [
            Problem(f"Line {error.lineno}, character {error.colno}", f"is not JSON: {error.msg}.")
        ]
    except (ValueError, RecursionError) as error:
        return [], [Problem("File", f"is not JSON: {error}.")]
    if not isinstance(content, dict) or content.get("type") != "FeatureCollection":
        return [], [Problem("File", "is not a GeoJSON FeatureCollection.")]
    problems: list[Problem] = []
    if content.get("crs"):
        problems.append(
            Problem(
                "Member crs",
                "names a geographic reference system. Coordinates must be millimetres on the face, "
                "from its lower left corner; if they are, leave the member crs out.",
            )
        )
    entries = content.get("features")
    if not isinstance(entries, list):
        return [], [*problems, Problem("Member features", "is not a list.")]
    if not entries:
        problems.append(Problem("Member features", "is empty: there is nothing to import."))
    features = []
    for position, entry in enumerate(entries, 1):
        feature, faults = _feature(position, entry)
        features.append(feature)
        problems += faults
    return features, [*problems, *_repeated(features)]


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _feature(position: int, entry: Any) -> tuple[Feature, list[Problem]]:
    feature = Feature(position)
    here = f"Feature {position}"
    if not isinstance(entry, dict) or entry.get("type") != "Feature":
        return feature, [Problem(here, "is not a GeoJSON Feature.")]
    given = entry.get("properties") or {}
    if not isinstance(given, dict):
        return feature, [Problem(here, "has properties that are not a table of names and values.")]
    problems = [
        Problem(feature.place(name), f"is not read{nearest(name, NAMES)}.", stops=False)
        for name in given
        if name not in NAMES
    ]
    for prop in PROPERTIES:
        value = given.get(prop.name)
        if value is None or value == "":
            continue
        reader: Callable[[Any], Any] = READERS.get(prop.name, _text)
        try:
            setattr(feature, prop.name, reader(value))
            if prop.max_length and len(getattr(feature, prop.name)) > prop.max_length:
                raise ValueError(f"is longer than {prop.max_length} characters")
        except ValueError as error:
            feature.faulty.add(prop.name)
            problems.append(Problem(feature.place(prop.name), f"{error}."))
    if not feature.number and "number" not in feature.faulty:
        problems.append(Problem(feature.place("number"), "is missing; every trace has its number."))
    geometry = entry.get("geometry")
    if geometry is not None:
        if fault := shape_fault(geometry):
            feature.faulty.add("geometry")
            problems.append(Problem(f"{here}, geometry", f"{fault}."))
        else:
            feature.geometry = geometry
    return feature, problems


def _text(value: Any) -> str:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"“{json.dumps(value)}” is neither text nor a number")
    text = str(value).strip()
    if "\x00" in text:
        raise ValueError("holds a character (NUL) that no text has")
    return text


def _measure(value: Any) -> float:
    try:
        number = float("" if isinstance(value, bool) else value)
    except (TypeError, ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number) or number < 0:
        raise ValueError(f"“{value}” is no number of millimetres, such as 0.5")
    return number


def _one_of(*words: str) -> Callable[[Any], str]:
    def choose(value: Any) -> str:
        word = _text(value).casefold().replace(" ", "_").replace("-", "_")
        if word not in words:
            raise ValueError(f"“{value}” is not one of {', '.join(words)}{nearest(word, words)}")
        return word

    return choose


READERS: dict[str, Callable[[Any], Any]] = {
    "uncertainty_mm": _measure,
    "outcome": _one_of(*OUTCOMES),
    "strength": _one_of(*STRENGTHS),
}


def _repeated(features: list[Feature]) -> Iterator[Problem]:
    first: dict[str, int] = {}
    for feature in features:
        if (
            feature.number
            and first.setdefault(feature.number, feature.position) != feature.position
        ):
            yield Problem(
                feature.place("number"),
                f"“{feature.number}” stands in feature {first[feature.number]} already. Join the "
                "parts of one trace to one feature with a Multi… geometry.",
            )


def shape_fault(geometry: Any) -> str:
    """What is wrong with the structure of a geometry; '' when it can be built."""
    if not isinstance(geometry, dict) or geometry.get("type") not in DEPTHS:
        known = ", ".join(DEPTHS)
        return f"is none of {known}"
    depth = DEPTHS[geometry["type"]]
    coordinates: Any = geometry.get("coordinates")
    fault = _nesting_fault(coordinates, depth)
    if fault:
        return fault
    if geometry["type"].endswith("LineString"):
        lines = coordinates if depth == 2 else [coordinates]
        if any(len(line) < 2 for line in lines):
            return "has a line of fewer than two points"
    if geometry["type"].endswith("Polygon"):
        for polygon in coordinates if depth == 3 else [coordinates]:
            for ring in polygon:
                if len(ring) < 4 or ring[0][:2] != ring[-1][:2]:
                    return "has a ring that is not closed (its last point must repeat its first)"
    return ""


def _nesting_fault(coordinates: Any, depth: int) -> str:
    if not isinstance(coordinates, list) or not coordinates:
        return "has no coordinates where some are needed"
    if depth:
        return next((f for part in coordinates if (f := _nesting_fault(part, depth - 1))), "")
    if len(coordinates) < 2 or not all(map(_is_millimetres, coordinates)):
        return f"has a position that is not a pair of numbers: {json.dumps(coordinates)[:60]}"
    return ""


def _is_millimetres(value: Any) -> bool:
    """A number that a face could have: finite, and less than a kilometre."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e6
