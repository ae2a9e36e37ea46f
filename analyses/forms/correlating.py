"""Confirming which layers of different sections belong to one trace."""

from collections.abc import Sequence
from typing import Any

from django import forms

from analyses.models import Layer
from analyses.sequence import Row
from records.forms.choosing import traces_of
from records.models import Object, Trace


class CoursesForm(forms.Form):
    """For each course its trace, and which of its layers are a part of it.

    A course goes by its layers: where the sequence has changed since the page was opened, nothing
    is tied to the trace of another course.
    """

    why = forms.CharField(
        label="Why do these layers belong together?",
        help_text="Kept with every layer that is tied: order, colour, materials, fluorescence.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, item: Object, rows: Sequence[Row], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = rows
        traces = traces_of(item).defer("shape")
        offered = [("", "leave untied"), *((trace.pk, self._named(trace)) for trace in traces)]
        self.traces = {trace.pk: trace for trace in traces}
        for row in rows:
            self.fields[f"trace_{row.key}"] = forms.TypedChoiceField(
                choices=offered,
                coerce=int,
                empty_value=None,
                required=False,
                initial=row.trace.pk if row.trace else "",
                label=f"Trace of course {row.number}",
                widget=forms.Select(attrs={"aria-label": f"Trace of course {row.number}"}),
            )
            for layer in row.layers:
                # Nothing is ticked beforehand: to tie is to decide.
                self.fields[f"layer_{layer.pk}"] = forms.BooleanField(
                    required=False, disabled=layer.trace_id is not None
                )

    def _named(self, trace: Trace) -> str:
        return f"{trace.number} {trace} ({trace.face})"

    @property
    def told(self) -> list[dict[str, Any]]:
        """The rows with their fields, as the page shows them."""
        return [
            {
                "row": row,
                "trace": self[f"trace_{row.key}"],
                "cells": [
                    {"layer": layer, "tick": self[f"layer_{layer.pk}"]} if layer else None
                    for layer in row.cells
                ],
            }
            for row in self.rows
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for row in self.rows:
            ticked = [layer for layer in row.layers if cleaned.get(f"layer_{layer.pk}")]
            if ticked and not cleaned.get(f"trace_{row.key}"):
                self.add_error(
                    f"trace_{row.key}",
                    f"Course {row.number}: name the trace that the ticked layers are a part of.",
                )
        return cleaned

    @property
    def ties(self) -> list[tuple[Layer, Trace]]:
        """What was ticked: a layer and the trace of its course."""
        return [
            (layer, self.traces[self.cleaned_data[f"trace_{row.key}"]])
            for row in self.rows
            for layer in row.layers
            if self.cleaned_data.get(f"layer_{layer.pk}")
        ]
