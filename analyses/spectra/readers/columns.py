"""Columns of text: two or more columns of numbers under whatever heads a program writes.

Separators and the decimal sign are found by trying each; which column is which is told by the
headings or by a person, never guessed where there are more than two.
"""

import csv
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from analyses.spectra.curve import Array, Curve
from analyses.spectra.readers import axes
from analyses.spectra.readers.text import ChoiceNeeded, Unreadable, shown

FORMAT = "columns of text"
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eEdD][+-]?\d+)?$")
COMMENT = ("#", "!", ";", "%", "//")
SEPARATORS = {"tab": "\t", "semicolon": ";", "comma": ",", "blanks": None}
# In this order the first that makes most lines into numbers is taken.
WRITINGS = (
    ("tab", "."), ("tab", ","), ("semicolon", "."), ("semicolon", ","), ("comma", "."),
    ("blanks", "."), ("blanks", ","), ("comma", ","),
)  # fmt: skip
MOST_SHOWN = 25
MIXED = "a decimal point among decimal commas"
COMMAS = " Where commas stand for decimals too, export with another separator first."


@dataclass(frozen=True, slots=True)
class ColumnChoice:
    """What a person says of a table; whatever is left out is found out.

    `x` and `y` count the columns from 0. Where there is no column of places, `x` is None and
    `start` and `step` make them, in `x_unit`.
    """

    x: int | None = None
    y: int | None = None
    x_unit: str = ""
    y_unit: str = ""
    separator: str = ""
    decimal: str = ""
    start: float | None = None
    step: float | None = None

    def to_settings(self) -> dict[str, str]:
        """The choice in words, to be kept with an analysis; columns are counted from 1 there."""
        said = {
            name: getattr(self, field) + 1 if field in ("x", "y") else getattr(self, field)
            for name, field in IN_SETTINGS.items()
            if getattr(self, field) not in (None, "")
        }
        return {name: str(value) for name, value in said.items()}

    @property
    def told(self) -> str:
        """The choice as a sentence without its stop; columns counted from 1."""
        if self.x is not None:
            places = f"column {self.x + 1}"
        elif self.start is not None:
            places = f"from {self.start:g} in steps of {self.step:g}"
        else:
            places = "as found"
        values = "as found" if self.y is None else f"column {self.y + 1}"
        units = [f", {unit}" if unit else "" for unit in (self.x_unit, self.y_unit)]
        return f"places {places}{units[0]}; values {values}{units[1]}"

    @classmethod
    def from_settings(cls, settings: Mapping[str, str]) -> "ColumnChoice | None":
        """The choice that `to_settings` put among the settings of an analysis, if it did."""
        said: dict[str, Any] = {}
        for name, field in IN_SETTINGS.items():
            if name not in settings:
                continue
            value = settings[name]
            try:
                if field in ("x", "y"):
                    said[field] = int(value) - 1
                else:
                    said[field] = float(value) if field in ("start", "step") else value
            except ValueError:
                continue
        return cls(**said) if said else None


IN_SETTINGS = {
    "Column of places": "x",
    "Column of values": "y",
    "Unit of places": "x_unit",
    "Unit of values": "y_unit",
    "Separator": "separator",
    "Decimal sign": "decimal",
    "First place": "start",
    "Step of places": "step",
}


@dataclass(frozen=True, slots=True)
class Preview:
    """What a person needs to see to choose: the first lines in cells, and what was found out.

    `rows` are (line, cells) of the first lines of numbers, `head` the lines above them.
    """

    separator: str
    decimal: str
    columns: int
    headings: tuple[str, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    guess: ColumnChoice | None


@dataclass(slots=True)
class Table:
    """Lines of numbers as found, and what stands above them."""

    separator: str
    decimal: str
    headings: tuple[str, ...]
    head: list[str]
    told: dict[str, str]
    rows: list[tuple[int, list[str]]]

    @property
    def width(self) -> int:
        return len(self.rows[0][1])


def read(text: str, choice: ColumnChoice | None = None) -> Curve:
    """The curve of the chosen columns, or of the only two."""
    choice = choice or ColumnChoice()
    table = _table(text, choice)
    chosen = _chosen(table, choice)
    for column in (chosen.x, chosen.y):
        if column is not None and not 0 <= column < table.width:
            raise Unreadable(
                f"There is no column {column + 1}: the table has {table.width}. Choose again."
            )
    if chosen.y is None:
        raise ChoiceNeeded("Choose the column of the values.")
    y = _column(table, chosen.y)
    if chosen.x is None:
        if chosen.start is None or not chosen.step:
            raise ChoiceNeeded("Choose the column of the places, or give their start and step.")
        x = chosen.start + chosen.step * np.arange(len(y), dtype=np.float64)
    else:
        x = _column(table, chosen.x)
    told = dict(table.told)
    for word in ("beam_energy", "wavelength"):
        for key, value in table.told.items():
            found = re.match(r"[\d.]+", value.replace(",", "."))
            if found and re.sub(r"[^a-z]+", "_", key.casefold()).startswith(word):
                told.setdefault(word, found[0])
    return axes.curve(
        x, y, chosen.x_unit, chosen.y_unit, format=FORMAT, told=told,
        lines=[line for line, _ in table.rows],
    )  # fmt: skip


def preview(text: str, choice: ColumnChoice | None = None) -> Preview:
    """The table as it would be read, for a person to choose from."""
    choice = choice or ColumnChoice()
    table = _table(text, choice)
    guess: ColumnChoice | None
    try:
        guess = _chosen(table, choice)
    except ChoiceNeeded:
        guess = None
    return Preview(
        table.separator, table.decimal, table.width, table.headings,
        tuple(table.head[:MOST_SHOWN]),
        tuple((line, tuple(cells)) for line, cells in table.rows[:MOST_SHOWN]), guess,
    )  # fmt: skip


def _cells(separator: str, decimal: str) -> Callable[[str], list[str]]:
    """How a line is cut into cells, decimal commas made points, quotation marks taken off."""
    mark = SEPARATORS[separator]

    def cut(line: str) -> list[str]:
        if mark is None:
            cells = line.split()
        elif '"' in line:
            cells = next(csv.reader([line], delimiter=mark))
        else:
            cells = line.split(mark)
        cells = [cell.strip() for cell in cells]
        while len(cells) > 1 and not cells[-1]:
            cells.pop()
        if decimal == ",":
            return [_with_point(cell) for cell in cells]
        return cells

    return cut


def _with_point(cell: str) -> str:
    """A cell with a decimal comma as a number is written; what has a point too is none."""
    if "." not in cell:
        return cell.replace(",", ".")
    return cell if "," in cell else MIXED


def _numeric(cells: list[str]) -> bool:
    return bool(cells) and all(map(NUMBER.match, cells))


def _is_remark(line: str) -> bool:
    return not line.strip() or line.lstrip().startswith(COMMENT)


def _table(text: str, choice: ColumnChoice) -> Table:
    lines = text.split("\n")
    for name, known in (("separator", SEPARATORS), ("decimal", (".", ","))):
        if (given := getattr(choice, name)) and given not in known:
            raise Unreadable(f"The {name} “{given}” is not one of {', '.join(known)}.")
    best: tuple[int, str, str] | None = None
    for separator, decimal in WRITINGS:
        if choice.separator not in ("", separator) or choice.decimal not in ("", decimal):
            continue
        cut = _cells(separator, decimal)
        widths = [len(c) for line in lines[:4000] if not _is_remark(line)
                  and _numeric(c := cut(line))]  # fmt: skip
        if not widths:
            continue
        usual = max(set(widths), key=widths.count)
        fit = widths.count(usual) if usual > 1 else 0
        if best is None or fit > best[0]:
            best = (fit, separator, decimal)
    if best is None:
        where = next((n for n, line in enumerate(lines, 1) if not _is_remark(line)), 1)
        raise Unreadable(
            f"“{shown(lines[where - 1].strip())}”: neither this nor any later line is a row of "
            "numbers, and no known format begins so. Export as EMSA/MAS, JCAMP-DX, pdCIF or "
            "columns of text.",
            where,
        )
    _, separator, decimal = best
    return _rows(lines, separator, decimal)


def _rows(lines: list[str], separator: str, decimal: str) -> Table:
    cut = _cells(separator, decimal)
    cells = [[] if _is_remark(line) else cut(line) for line in lines]
    first = _first_row(cells)
    width = len(cells[first])
    rows: list[tuple[int, list[str]]] = []
    for at, found in enumerate(cells[first:], first):
        if not found:
            continue
        if not _numeric(found) or len(found) != width:
            _refuse(lines[at], at + 1, found, width)
        rows.append((at + 1, found))
    if len(rows) < 2:
        raise Unreadable("is the only row of numbers; a curve has at least two.", first + 1)
    head = lines[:first]
    headings: tuple[str, ...] = ()
    for line in reversed(head):
        if bare := line.strip().lstrip("#!;%").strip():
            by_separator = tuple(c.strip('" ') for c in _cells(separator, ".")(bare))
            loose = tuple(re.split(r"\s{2,}|\t|[,;]\s*", bare))
            headings = next((h for h in (by_separator, loose) if len(h) == width), ())
            break
    return Table(separator, decimal, headings, head, _said(head), rows)


def _first_row(cells: list[list[str]]) -> int:
    """The first row of numbers that the next filled line is like (a head may hold numbers too)."""
    filled = [at for at, found in enumerate(cells) if found]
    for at, following in pairwise(filled):
        if _numeric(cells[at]) and len(cells[following]) == len(cells[at]) > 1:
            return at
    return next(at for at in filled if _numeric(cells[at]))


def _refuse(content: str, line: int, cells: list[str], width: int) -> None:
    if len(cells) != width:
        has = f"{len(cells)} columns" if len(cells) != 1 else "1 column"
        raise Unreadable(
            f"“{shown(content.strip())}” has {has}; the rows before it have {width}. Mend the row "
            "or take out what does not belong to the measurement.",
            line,
        )
    wrong = next(cell for cell in cells if not NUMBER.match(cell))
    if wrong == MIXED:
        raise Unreadable(
            f"“{shown(content.strip())}” has {MIXED}. Write all decimals alike, or export again.",
            line,
        )
    raise Unreadable(
        f"“{shown(wrong)}” is no number. Numbers have a decimal point or comma and no separators "
        "of thousands. Mend the row or export again.",
        line,
    )


def _said(head: list[str]) -> dict[str, str]:
    """“Name: value” and “name = value” above the numbers."""
    told: dict[str, str] = {}
    for line in head:
        match = re.match(r"\s*[#!;%]*\s*([^:=\t]{1,60}?)\s*[:=\t]\s*(\S.*?)\s*$", line)
        if match:
            told.setdefault(match[1].strip('" '), match[2].strip('" ;,'))
    return told


def _chosen(table: Table, choice: ColumnChoice) -> ColumnChoice:
    """The choice made whole: from the headings, or because there are only two columns."""
    x, y = choice.x, choice.y
    if x is None and y is None and choice.start is None:
        if table.width == 2:
            x, y = 0, 1
        else:
            named_x = [n for n, words in enumerate(table.headings) if axes.x_unit(words)]
            named_y = [n for n, words in enumerate(table.headings) if axes.y_unit(words)
                       and n not in named_x]  # fmt: skip
            if len(named_x) != 1 or len(named_y) != 1:
                raise ChoiceNeeded(
                    f"The table has {table.width} column{'s' * (table.width > 1)}. Choose which "
                    "holds the places and which the values."
                    + COMMAS
                    * (table.separator == "comma" and table.width in (3, 4))
                )
            x, y = named_x[0], named_y[0]
    elif y is None and table.width == 2 and x is not None:
        y = 1 - x
    elif x is None and choice.start is None and table.width == 2 and y is not None:
        x = 1 - y
    elif y is None and table.width == 1:
        y = 0

    def words(column: int | None, given: str, known: Callable[[str], object]) -> str:
        if given or column is None or column >= len(table.headings):
            return given
        heading = table.headings[column]
        return heading if known(heading) else ""

    return ColumnChoice(
        x, y, words(x, choice.x_unit, axes.x_unit), words(y, choice.y_unit, axes.y_unit),
        table.separator, table.decimal, choice.start, choice.step,
    )  # fmt: skip


def _column(table: Table, column: int) -> Array:
    return np.array([float(cells[column].replace("D", "e").replace("d", "e"))
                     for _, cells in table.rows])  # fmt: skip
