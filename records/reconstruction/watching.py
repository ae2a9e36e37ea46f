"""Which records bear on a history, and how a change of one leads to the objects concerned.

Changes are collected until their transaction is committed, so that a thousand records changed
together ask for one reconstruction of each object. What is written in bulk sends no signals: the
importers call `recompute.request` themselves, and a page that finds its history out of date does so
as well.
"""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db import connection, transaction
from django.db.models import Model
from django.db.models.signals import post_save

from analyses.models import Identification, Layer, Preparation, Sample, SamplingPoint
from records.models import (
    Campaign,
    Effect,
    Examination,
    Image,
    MaterialDate,
    Object,
    Occurrence,
    Relation,
    SetAside,
    Sighting,
    Source,
    Statement,
    StatementEvent,
    StatementTrace,
    Trace,
    Treatment,
)
from records.reconstruction.recompute import request

# How each record leads to the objects whose history it bears on.
LEADS: dict[type[Model], tuple[str, ...]] = {
    Object: ("pk",),
    Campaign: ("object",),
    Examination: ("campaign__object",),
    Image: ("object",),
    Treatment: ("object",),
    Occurrence: ("object",),
    Source: ("object",),
    Statement: ("object",),
    StatementEvent: ("statement__object",),
    StatementTrace: ("statement__object",),
    SetAside: ("object",),
    Trace: ("face__object",),
    Sighting: ("trace__face__object",),
    Relation: ("upper__face__object",),
    Effect: ("trace__face__object",),
    SamplingPoint: ("face__object",),
    Sample: ("point__face__object",),
    Preparation: ("sample__point__face__object",),
    Layer: ("preparation__sample__point__face__object",),
    Identification: (
        "point__face__object",
        "sample__point__face__object",
        "layer__preparation__sample__point__face__object",
    ),
    MaterialDate: tuple(
        f"material__identifications__{place}face__object"
        for place in ("point__", "sample__point__", "layer__preparation__sample__point__")
    ),
}


class Changed:
    """The records changed in one transaction; called when it is committed."""

    def __init__(self) -> None:
        self.records: dict[type[Model], set[Any]] = defaultdict(set)

    def __call__(self) -> None:
        for object_pk in sorted(objects_concerned(self.records.items())):
            request(object_pk)


def objects_concerned(changed: Iterable[tuple[type[Model], set[Any]]]) -> set[int]:
    """Keys of the objects whose history these records bear on."""
    found: set[int] = set()
    for model, keys in changed:
        rows = model._default_manager.filter(pk__in=keys).values_list(*LEADS[model])
        found.update(pk for row in rows for pk in row if pk is not None)
    return found


def note(sender: type[Model], instance: Model, **more: Any) -> None:
    """Remember a changed record until its transaction is committed."""
    # Callbacks of a savepoint that is rolled back are dropped by Django, and with them what was
    # noted in it; hence one collection for each state of savepoints.
    savepoints = set(connection.savepoint_ids)
    for sids, callback, *_ in connection.run_on_commit:
        if isinstance(callback, Changed) and sids == savepoints:
            callback.records[sender].add(instance.pk)
            return
    changed = Changed()
    changed.records[sender].add(instance.pk)
    transaction.on_commit(changed)


def watch() -> None:
    """Listen for changes of every record that bears on a history."""
    for model in LEADS:
        post_save.connect(note, sender=model, dispatch_uid=f"history of {model.__name__}")
