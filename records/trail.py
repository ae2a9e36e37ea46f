"""Where a record belongs: the record above it, its object, its room, and who may write it."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Model
from django.urls import reverse

from records.models import (
    Campaign,
    Component,
    Coverage,
    Effect,
    Examination,
    Face,
    Image,
    Material,
    MaterialDate,
    Mosaic,
    MosaicFrame,
    Object,
    Occurrence,
    OccurrenceKind,
    Person,
    Placement,
    Relation,
    Sighting,
    Source,
    Statement,
    Technique,
    Trace,
    TraceKind,
    Treatment,
    TreatmentArea,
    TreatmentKind,
    User,
    Zone,
)

# The attributes that may lead one step up; the first that is set does.
ABOVE: dict[type[Model], tuple[str, ...]] = {
    Campaign: ("parent", "object"),
    Component: ("object",),
    Coverage: ("examination",),
    Effect: ("treatment", "occurrence"),
    Examination: ("campaign",),
    Face: ("object",),
    Image: ("object",),
    MaterialDate: ("material",),
    Mosaic: ("examination",),
    MosaicFrame: ("mosaic",),
    Occurrence: ("object",),
    Placement: ("image",),
    Relation: ("upper",),
    Sighting: ("trace",),
    Source: ("object",),
    Statement: ("source",),
    Trace: ("face",),
    Treatment: ("object",),
    TreatmentArea: ("treatment",),
    Zone: ("face",),
}

# What a signature on the record above covers too: from then on it is neither added nor changed.
SIGNED_WITH: set[type[Model]] = {Coverage, TreatmentArea}

# The room of an object in which records of a kind are kept.
ROOMS: dict[type[Model], str] = {
    Campaign: "images",
    Coverage: "images",
    Effect: "treatments",
    Examination: "images",
    Image: "images",
    Mosaic: "images",
    MosaicFrame: "images",
    Occurrence: "treatments",
    Placement: "images",
    Relation: "surface",
    Sighting: "surface",
    Source: "papers",
    Statement: "papers",
    Trace: "surface",
    Treatment: "treatments",
    TreatmentArea: "treatments",
}

# Lists that belong to no object.
LISTS: dict[type[Model], tuple[str, str]] = {
    Material: ("Materials", "materials"),
    OccurrenceKind: ("Kinds of occurrence", "occurrence-kinds"),
    Person: ("People", "people"),
    Technique: ("Techniques", "techniques"),
    TraceKind: ("Kinds of trace", "trace-kinds"),
    TreatmentKind: ("Kinds of treatment", "treatment-kinds"),
}


@dataclass(frozen=True, slots=True)
class Crumb:
    """One step of the trail to a page."""

    words: str
    address: str


def above(record: Model) -> Model | None:
    """The record that this one is a part of."""
    for name in ABOVE.get(type(record), ()):
        found: Any = getattr(record, name)
        if found is not None:
            return found  # type: ignore[no-any-return]
    return None


def object_of(record: Model) -> Object | None:
    """The object that the record goes back to; None for vocabulary and people."""
    step: Model | None = record
    while step is not None and not isinstance(step, Object):
        step = above(step)
    return step


def room_of(record: Model) -> str:
    """The room of the object that shows the record; '' for the object's own page."""
    return ROOMS.get(type(record), "")


def trail(record: Model) -> list[Crumb]:
    """The steps down to a record, from the list of objects (or its vocabulary) to itself."""
    chain = [record]
    while (up := above(chain[-1])) is not None:
        chain.append(up)
    chain.reverse()
    steps: list[Crumb] = []
    if isinstance(chain[0], Object):
        item = chain.pop(0)
        steps.append(Crumb("Objects", reverse("objects")))
        if item.pk:
            steps.append(Crumb(str(item), address_of(item)))
        if room := room_of(record):
            steps.append(Crumb(room.capitalize(), reverse(f"object-{room}", args=[item.pk])))
    elif type(chain[0]) in LISTS:
        words, name = LISTS[type(chain[0])]
        steps.append(Crumb(words, reverse(name)))
    steps += [Crumb(name_of(step), address_of(step)) for step in chain if step.pk]
    return steps


def name_of(record: Model) -> str:
    """The record in a few words, shortened for lists and trails."""
    words = str(record)
    return words if len(words) <= 60 else words[:59].rstrip() + "…"


def address_of(record: Model) -> str:
    """Where the record is shown."""
    return str(record.get_absolute_url())  # type: ignore[attr-defined]


def may_write(user: User, model: type[Model]) -> bool:
    """Whether the role allows adding and changing records of that kind."""
    return bool(getattr(user, right_to_write(model)))


def right_to_write(model: type[Model]) -> str:
    """The property of `User` that allows writing records of that kind."""
    laboratory = model._meta.app_label == "analyses" or model in (Material, MaterialDate)
    return "writes_analyses" if laboratory else "writes_records"
