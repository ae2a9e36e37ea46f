"""What was changed lately, in the words of those who changed it: one line for each change."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pghistory.models
from django.apps import apps
from django.db.models import Count, Min, Model, Value
from django.utils.text import capfirst

from records.models import Record, User


@dataclass(frozen=True, slots=True)
class Changed:
    """One change: when, who, why, the first record that it touched and how many others."""

    at: datetime
    who: str
    why: str
    record: Any
    kind: str
    others: int


def recorded_models() -> list[type[Record]]:
    """Every kind of record whose versions are kept."""
    return [m for m in apps.get_models() if issubclass(m, Record) and not m._meta.proxy]


def recent_changes(limit: int = 12) -> list[Changed]:
    """The latest changes, newest first.

    One query for the changes, one over the version tables, one for names, and one for each kind of
    record that is named.
    """
    contexts = list(pghistory.models.Context.objects.order_by("-created_at")[:limit])
    keys = [context.pk for context in contexts]
    models = {model._meta.label: model for model in recorded_models()}
    touched: dict[Any, list[tuple[str, int, int]]] = {}
    if keys:
        parts = [
            model.versions.rel.related_model.objects.filter(pgh_context_id__in=keys)  # type: ignore[attr-defined]
            .order_by()
            .values("pgh_context_id")
            .annotate(label=Value(label), first=Min("pgh_obj_id"), count=Count("pgh_obj_id"))
            .values_list("pgh_context_id", "label", "first", "count")
            for label, model in models.items()
        ]
        for key, label, first, count in parts[0].union(*parts[1:], all=True):
            touched.setdefault(key, []).append((label, first, count))
    shown = {key: max(found, key=_weight) for key, found in touched.items()}
    records = _look_up(models, shown)
    accounts = User.objects.in_bulk({c.metadata.get("user") for c in contexts} - {None})
    return [
        Changed(
            at=context.created_at,
            who=str(accounts.get(context.metadata.get("user"), "the program")),
            why=context.metadata.get("why", ""),
            record=records.get(shown[context.pk][:2]),
            kind=capfirst(str(models[shown[context.pk][0]]._meta.verbose_name)),
            others=sum(count for _, _, count in touched[context.pk]) - 1,
        )
        for context in contexts
        if context.pk in shown and records.get(shown[context.pk][:2]) is not None
    ]


# The record that stands for a change: what people speak of, before what hangs on it.
FOREMOST = (
    "records.Object", "records.Treatment", "records.Occurrence", "records.Examination",
    "records.Trace", "records.Statement", "analyses.Analysis",
)  # fmt: skip


def _weight(touched: tuple[str, int, int]) -> tuple[bool, int]:
    label, _, count = touched
    return label in FOREMOST, -count


def _look_up(
    models: dict[str, type[Record]], shown: dict[Any, tuple[str, int, int]]
) -> dict[tuple[str, int], Model]:
    wanted: dict[str, set[int]] = {}
    for label, first, _ in shown.values():
        wanted.setdefault(label, set()).add(first)
    found: dict[tuple[str, int], Model] = {}
    for label, keys in wanted.items():
        model = models[label]
        related = [
            f.name for f in model._meta.fields if f.is_relation and f.related_model is not User
        ]
        rows = model._default_manager.select_related(*related).in_bulk(keys)
        found.update({(label, key): row for key, row in rows.items()})
    return found
