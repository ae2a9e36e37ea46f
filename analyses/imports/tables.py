"""Reading a table from CSV or XLSX into rows of cells. No Django here.

CSV as spreadsheet programs write it in any country: UTF-8 with or without byte order mark, UTF-16
or Windows-1252; comma, semicolon or tab between cells.
"""

import codecs
import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter

from analyses.imports.columns import BY_NAME, Column, column_called
from records.imports.problems import Problem, nearest

# A workbook is a ZIP file; one that unpacks to more than this is not a table of results.
MOST_UNPACKED_BYTES = 500 * 1024 * 1024
OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


@dataclass(slots=True)
class Row:
    """One row as read: values by name of column, and the cell each stands in."""

    number: int
    values: dict[str, Any] = field(default_factory=dict)
    cells: dict[str, str] = field(default_factory=dict)
    faulty: set[str] = field(default_factory=set)

    def place(self, name: str) -> str:
        """'Row 7, cell C7 (x_mm)', or 'Row 7, x_mm' where the table has no such column."""
        if cell := self.cells.get(name):
            return f"Row {self.number}, cell {cell} ({name})"
        return f"Row {self.number}, {name}"


def read(
    data: bytes, known: Mapping[str, Column] = BY_NAME, needed: Sequence[str] = ("point",)
) -> tuple[list[Row], list[Problem]]:
    """The rows of a table and everything that is wrong with it on its own.

    `known` are the columns that it may have, `needed` the names of those that it must.
    """
    problems: list[Problem] = []
    try:
        lines = list(_workbook(data) if data[:2] == b"PK" else _text_table(data, problems))
    except ValueError as error:
        return [], [Problem("File", str(error))]
    filled = [(n, cells) for n, cells in enumerate(lines, 1) if any(map(_is_filled, cells))]
    if not filled:
        return [], [*problems, Problem("File", "is empty.")]
    (heading_row, headings), *body = filled
    columns = _columns(heading_row, headings, known, problems)
    has = {column.name for column in columns.values()}
    problems += [
        Problem(f"Row {heading_row}", f"has no column {name}, which is needed.")
        for name in needed
        if name not in has
    ]
    if not body:
        problems.append(Problem("File", "has a heading but no rows: there is nothing to import."))
    return [_row(number, cells, columns, problems) for number, cells in body], problems


def _is_filled(value: Any) -> bool:
    return value is not None and str(value).strip() != ""


def _workbook(data: bytes) -> Iterator[tuple[Any, ...]]:
    """Rows of the first sheet; formulas stand for the values last worked out."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(part.file_size for part in archive.infolist()) > MOST_UNPACKED_BYTES:
                raise ValueError("is too large. Split it into several workbooks.")
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    except (zipfile.BadZipFile, KeyError, OSError) as error:
        raise ValueError("is no XLSX workbook that can be read.") from error
    sheet = book.worksheets[0]
    sheet.reset_dimensions()  # what other programs write there is often wrong
    return sheet.iter_rows(values_only=True)


def _text_table(data: bytes, problems: list[Problem]) -> Iterator[list[str]]:
    if data[:4] == OLD_WORKBOOK:
        raise ValueError("is a workbook of the old kind (XLS). Save it as XLSX or CSV.")
    content = _decoded(data, problems)
    first = content.lstrip("\r\n").split("\n", 1)[0]
    delimiter = max(",;\t", key=lambda mark: len(next(csv.reader([first], delimiter=mark), [])))
    try:
        yield from csv.reader(io.StringIO(content, newline=""), delimiter=delimiter, strict=True)
    except csv.Error as error:
        raise ValueError(f"is no CSV that can be read: {error}.") from error


def _decoded(data: bytes, problems: list[Problem]) -> str:
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    try:
        content = data.decode("cp1252")
    except UnicodeDecodeError as error:
        raise ValueError("is neither UTF-8 nor Windows-1252 text. Save it as UTF-8.") from error
    problems.append(
        Problem(
            "File", "is not UTF-8; it was read as Windows-1252. Check the accents.", stops=False
        )
    )
    return content


def _columns(
    row: int, headings: Iterable[Any], by_name: Mapping[str, Column], problems: list[Problem]
) -> dict[int, Column]:
    """The known columns by their index; every other heading and every second one is reported."""
    columns: dict[int, Column] = {}
    for index, heading in enumerate(headings):
        if not _is_filled(heading):
            continue
        cell = f"Row {row}, cell {get_column_letter(index + 1)}{row}"
        column = column_called(str(heading), by_name)
        if column is None:
            known = nearest(str(heading), by_name)
            problems.append(Problem(cell, f"“{heading}” is not read{known}.", stops=False))
        elif column in columns.values():
            problems.append(Problem(cell, f"the column {column.name} stands twice."))
        else:
            columns[index] = column
    return columns


def _row(
    number: int, cells: Iterable[Any], columns: dict[int, Column], problems: list[Problem]
) -> Row:
    row = Row(number)
    given = dict(enumerate(cells))
    for index, column in columns.items():
        row.cells[column.name] = f"{get_column_letter(index + 1)}{number}"
        if not _is_filled(given.get(index)):
            continue
        try:
            value = column.read(given[index])
            if column.max_length and len(value) > column.max_length:
                raise ValueError(f"is longer than {column.max_length} characters")
        except ValueError as error:
            row.faulty.add(column.name)
            problems.append(Problem(row.place(column.name), f"{error}."))
        else:
            row.values[column.name] = value
    return row
