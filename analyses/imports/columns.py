"""The columns that a table of samples and results may have, and how their cells are read.

Each row says something of one sampling point and, as far as its cells go, of a sample, preparation,
layer, analysis, reading and material there. No Django models here.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import IntEnum
from typing import Any

from analyses.choices import THICKEST_UM, Amount, Confidence, PreparationKind, ReadingKind
from records.history import edtf
from records.imports.problems import nearest


class Level(IntEnum):
    """What a column speaks of, from the point on the surface to the conclusion."""

    POINT = 1
    SAMPLE = 2
    PREPARATION = 3
    LAYER = 4
    ANALYSIS = 5
    READING = 6
    IDENTIFICATION = 7


def text(value: Any) -> str:
    """A cell as text; whole numbers lose their decimal point, days are written YYYY-MM-DD."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    given = str(value).strip()
    if "\x00" in given:
        raise ValueError("holds a character (NUL) that no text has")
    return given


def number(value: Any) -> float:
    """A number with a decimal point or comma and no separators of thousands."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    given = text(value)
    if not re.fullmatch(r"[+-]?\d*[.,]?\d+([eE][+-]?\d+)?", given):
        hint = (
            " Write it without separators of thousands" if re.search(r"\d[.,\s]\d", given) else ""
        )
        raise ValueError(f"“{given}” is no number.{hint}".removesuffix("."))
    return float(given.replace(",", "."))


def measure(value: Any) -> float:
    """A number that is not negative."""
    found = number(value)
    if found < 0:
        raise ValueError(f"“{text(value)}” is less than zero")
    return found


def thickness(value: Any) -> float:
    """A thickness that a layer can have, in µm."""
    found = measure(value)
    if found > THICKEST_UM:
        raise ValueError(f"“{text(value)}” is more than {THICKEST_UM:,} µm; check the unit")
    return found


def whole(value: Any) -> int:
    found = number(value)
    if not found.is_integer() or not 1 <= found <= 32767:
        raise ValueError(f"“{text(value)}” is no whole number counted from 1")
    return int(found)


def yes_or_no(value: Any) -> bool:
    given = text(value).casefold()
    if given in {"yes", "y", "true", "1", "ja", "oui", "x"}:
        return True
    if given in {"no", "n", "false", "0", "nein", "non"}:
        return False
    raise ValueError(f"“{text(value)}” is neither yes nor no")


def when(value: Any) -> str:
    """An uncertain date as EDTF text."""
    given = text(value)
    try:
        edtf.read(given)
    except edtf.EdtfError as error:
        raise ValueError(str(error).removesuffix(".")) from error
    return given


def one_of(*words: str) -> Callable[[Any], str]:
    def choose(value: Any) -> str:
        given = re.sub(r"[\s-]+", "_", text(value).casefold())
        if given not in words:
            known = nearest(given, words)
            raise ValueError(f"“{text(value)}” is not one of {', '.join(words)}{known}")
        return given

    return choose


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it speaks of, which field of the record it fills ('' for a key)."""

    name: str
    level: Level
    field: str
    meaning: str
    example: str
    needed: str = "no"
    read: Callable[[Any], Any] = text
    max_length: int | None = None


P, S, R, L, A, G, I = Level  # noqa: E741
KINDS_OF_PREPARATION = ", ".join(PreparationKind.values)
KINDS_OF_READING = ", ".join(ReadingKind.values)
AMOUNTS = [amount for amount in Amount.values if amount]

COLUMNS = (
    Column("face", P, "", "Name of the face.", "recto", "when the object has more than one"),
    Column("point", P, "", "Number of the sampling point on its face. A number that the face has "
           "already means that point.", "P3", "always", text, 24),
    Column("x_mm", P, "x_mm", "Place from the lower left corner to the right, in millimetres.",
           "412,5", "for a new point", number),
    Column("y_mm", P, "y_mm", "Place from the lower left corner upwards, in millimetres.", "96",
           "for a new point", number),
    Column("point_date", P, "date", "When it was sampled or measured (EDTF).", "2024-03-11",
           "no", when),
    Column("invasive", P, "invasive", "yes when material was removed, else no. Left empty it is "
           "yes where a sample is named.", "yes", "no", yes_or_no),
    Column("permission", P, "permission", "Who allowed it, and under which reference.",
           "Head of conservation, 2024/17", "when invasive", text, 200),
    Column("purpose", P, "purpose", "The question that it was to answer.",
           "Is the blue of the sky original?"),
    Column("point_note", P, "note", "Anything else about the point.", "edge of a loss"),
    Column("sample", S, "", "Number of the sample, unique in the department.", "S-2024-07",
           "no", text, 40),
    Column("container", S, "container", "What the sample is kept in.", "glass vial", "no", text,
           120),
    Column("amount", S, "amount", "Size or mass when taken.", "0.3 mm across", "no", text, 120),
    Column("remains", S, "remains", "What is left of it.", "half", "no", text, 200),
    Column("kept_at", S, "kept_at", "Where it is kept.", "sample cabinet, drawer 4", "no", text,
           200),
    Column("sample_note", S, "note", "Anything else about the sample.", "fell into two parts"),
    Column("preparation", R, "", "Number of what was made of the sample; needs the sample.",
           "S-2024-07-a", "no", text, 40),
    Column("preparation_kind", R, "kind", f"One of {KINDS_OF_PREPARATION}.", "cross_section",
           "for a new preparation", one_of(*PreparationKind.values)),
    Column("medium", R, "medium", "Embedding or mounting medium.", "polyester resin", "no", text,
           120),
    Column("layer", L, "", "Number of the layer, 1 for the lowest; needs the preparation.", "3",
           "no", whole),
    Column("layer_description", L, "description", "What the layer looks like, in a few words.",
           "blue paint, fine grains", "for a new layer", text, 200),
    Column("thickness_min_um", L, "thickness_min_um", "Least thickness in µm.", "12", "no",
           thickness),
    Column("thickness_max_um", L, "thickness_max_um", "Greatest thickness in µm.", "25", "no",
           thickness),
    Column("colour", L, "colour", "Colour in words or by a named system.", "pale blue", "no",
           text, 80),
    Column("fluorescence", L, "fluorescence", "Look under ultraviolet.", "none", "no", text, 120),
    Column("particles", L, "particles", "Particles seen.", "blue, angular, up to 15 µm"),
    Column("technique", A, "", "Technique of an analysis: code, label or abbreviation. The "
           "analysis is of the layer, else of the sample, else of the point of the row.", "SEM-EDX",
           "when a reading is given"),
    Column("analysis_date", A, "", "When it was analysed (EDTF). Rows that agree in place, "
           "technique and date are one analysis.", "2024-04", "no", when),
    Column("instrument", A, "instrument", "Instrument, as the laboratory calls it.", "SEM 2", "no",
           text, 200),
    Column("analysis_note", A, "note", "Anything else about the analysis.", "20 kV, uncoated"),
    Column("reading_kind", G, "", f"One of {KINDS_OF_READING}.", "element",
           "when a reading is given", one_of(*ReadingKind.values)),
    Column("reading", G, "", "What was read, in a few words.", "Zn", "no", text, 200),
    Column("value", G, "", "Its value.", "8,64", "no", number),
    Column("unit", G, "", "Unit of the value and its uncertainty.", "keV",
           "when a value is given", text, 24),
    Column("uncertainty", G, "uncertainty", "Standard uncertainty of the value.", "0,02", "no",
           measure),
    Column("reading_amount", G, "amount", f"How much: {', '.join(AMOUNTS)}.", "major", "no",
           one_of(*AMOUNTS)),
    Column("reading_note", G, "note", "Anything else about the reading.", "overlaps with Cu"),
    Column("material", I, "", "A material proposed at the layer, sample or point of the row: code, "
           "label or Colour Index name. A person accepts or rejects it later.", "zinc_white"),
    Column("confidence", I, "confidence", f"One of {', '.join(Confidence.values)}.", "probable",
           "no", one_of(*Confidence.values)),
    Column("grounds", I, "grounds", "What speaks for the material and what against.",
           "Zn without Ba or S", "for a new material in a row without reading"),
)  # fmt: skip
BY_NAME = {column.name: column for column in COLUMNS}


def column_called(heading: str, columns: Mapping[str, Column] = BY_NAME) -> Column | None:
    """The column that a heading means: 'X (mm)', 'x_mm' and 'X mm' are the same."""
    return columns.get(re.sub(r"[^a-z0-9]+", "_", heading.casefold().replace("µ", "u")).strip("_"))
