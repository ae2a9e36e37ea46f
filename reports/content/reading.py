"""How records are read for a dossier: what stands, measures of shapes, numbers in words."""

import re
from collections.abc import Iterable
from typing import Any

from django.db.models import F, FloatField, Func, QuerySet, TextField, Value

DIGITS = re.compile(r"(\d+)")


def standing(model: type[Any]) -> QuerySet[Any]:
    """Records of any kind that have not been withdrawn."""
    records: QuerySet[Any] = model._default_manager.filter(withdrawn_at__isnull=True)
    return records


def path(expression: Any) -> Func:
    """A shape as SVG path data, y downwards, to a tenth of a millimetre."""
    return Func(expression, Value(0), Value(1), function="ST_AsSVG", output_field=TextField())


def simplified(column: str, tolerance_mm: float) -> Func:
    """A shape without detail finer than a tolerance."""
    return Func(F(column), Value(tolerance_mm), function="ST_SimplifyPreserveTopology")


def number(function: str, column: str) -> Func:
    """A measure of a shape in face millimetres."""
    return Func(F(column), function=function, output_field=FloatField())


def on(axis: str, column: str) -> Func:
    """A coordinate of a point that certainly lies on the shape."""
    point = Func(F(column), function="ST_PointOnSurface")
    return Func(point, function=f"ST_{axis}", output_field=FloatField())


def natural(text: str) -> tuple[tuple[int, str], ...]:
    """Sort key under which 'A2' comes before 'A10'."""
    parts = DIGITS.split(text.casefold())
    return tuple((int(p), "") if p.isdigit() else (-1, p) for p in parts if p)


def condensed(numbers: Iterable[str]) -> str:
    """Numbers in order, runs drawn together: 'R101–R107, R110'."""
    runs: list[list[str]] = []
    for text in sorted(set(numbers), key=natural):
        if runs and _follows(runs[-1][-1], text):
            runs[-1].append(text)
        else:
            runs.append([text])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def few(names: Iterable[str], most: int = 3) -> str:
    """The first of some names, and how many more there are."""
    distinct = list(dict.fromkeys(names))
    rest = len(distinct) - most
    return ", ".join(distinct[:most]) + (f" and {rest} more" if rest > 0 else "")


def _follows(before: str, after: str) -> bool:
    """Whether two numbers differ only by one at their end: 'R101' and 'R102'."""
    first, second = DIGITS.split(before), DIGITS.split(after)
    ends_in_number = len(first) == len(second) > 1 and first[-1] == second[-1] == ""
    return ends_in_number and first[:-2] == second[:-2] and int(second[-2]) == int(first[-2]) + 1
