"""The layers of all sections of an object as one sequence: proposed, confirmed by a person.

A confirmed course ties its layers to one trace; the history then orders that trace by all of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch, Q, QuerySet

from analyses.choices import Decision
from analyses.correlating import Course, Stratum, correlate
from analyses.microscopy import MicroscopyError, munsell_colour
from analyses.models import Identification, Layer, Preparation
from records.changes import change
from records.models import Object, Trace, User

STANDING = Q(withdrawn_at__isnull=True)


@dataclass
class Row:
    """One course: a cell for each section, the trace proposed for it, and why."""

    number: int
    cells: list[Layer | None]
    trace: Trace | None
    grounds: tuple[str, ...]
    share: float | None
    layers: list[Layer] = field(default_factory=list)

    @property
    def key(self) -> str:
        """What the course is called in a form: it holds while the same layers stand in it."""
        return "_".join(str(layer.pk) for layer in self.layers)

    @property
    def open(self) -> bool:
        """Whether something is left to decide: a layer that is not tied to the trace yet."""
        return any(layer.trace_id is None for layer in self.layers)


def sections_of(item: Object) -> list[Any]:
    """The sections of an object that have layers, each with its layers bottom up as `stack`."""
    found = Identification.objects.filter(STANDING).exclude(decision=Decision.REJECTED)
    layers = (
        Layer.objects.filter(STANDING)
        .select_related("trace__kind", "trace__face")
        .prefetch_related(
            Prefetch("identification_set", found.select_related("material"), to_attr="found")
        )
        .order_by("number")
    )
    preparations: QuerySet[Any] = (
        Preparation.objects.filter(STANDING, sample__point__face__object=item)
        .select_related("sample__point__face")
        .prefetch_related(Prefetch("layers", layers, to_attr="stack"))
    )
    return [preparation for preparation in preparations if preparation.stack]


def propose(sections: Sequence[Any]) -> list[Row]:
    """The common sequence, the uppermost course first."""
    layers = {layer.pk: layer for section in sections for layer in section.stack}
    strata = [[_stratum(layer) for layer in section.stack] for section in sections]
    courses = correlate(strata)
    rows = []
    for number, course in enumerate(courses, 1):
        cells = [
            layers[course.members[index].key] if index in course.members else None
            for index in range(len(sections))
        ]
        rows.append(_row(number, course, cells))
    return rows[::-1]


def _row(number: int, course: Course, cells: list[Layer | None]) -> Row:
    layers = [layer for layer in cells if layer is not None]
    traces = [layer.trace for layer in layers if layer.trace is not None]
    least = course.least
    return Row(
        number,
        cells,
        traces[0] if traces else None,
        least.grounds if least else (),
        least.share if least else None,
        layers,
    )


def _stratum(layer: Any) -> Stratum:
    return Stratum(
        key=layer.pk,
        number=layer.number,
        words=f"{layer.description} {layer.colour}",
        lab=_lab(layer),
        materials=frozenset(one.material.label.lower() for one in layer.found),
        fluorescence=layer.fluorescence,
        trace=layer.trace_id or 0,
    )


def _lab(layer: Layer) -> tuple[float, float, float] | None:
    """The colour measured, else the one seen by eye; the one in drawings may be anything."""
    if layer.colour_lab:
        lightness, a, b = layer.colour_lab
        return lightness, a, b
    if layer.munsell:
        try:
            return munsell_colour(layer.munsell).lab
        except MicroscopyError:
            return None
    return None


def confirm(ties: Sequence[tuple[Layer, Trace]], *, user: User, why: str) -> int:
    """Tie layers to traces as one change; returns how many were tied anew."""
    fresh = [(layer, trace) for layer, trace in ties if layer.trace_id != trace.pk]
    if fresh:
        with change(user=user, why=why):
            for layer, trace in fresh:
                layer.trace = trace
                layer.save()
    return len(fresh)
