"""Brings the shipped terms into the database without undoing what a department changed."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from django.db.models import Model, QuerySet

from records.changes import change
from records.models import (
    Material,
    MaterialDate,
    OccurrenceKind,
    Technique,
    Term,
    TraceKind,
    TreatmentKind,
)
from records.vocabulary.files import depth, read

MODELS: dict[str, type[Term]] = {
    "trace_kinds": TraceKind,
    "treatment_kinds": TreatmentKind,
    "occurrence_kinds": OccurrenceKind,
    "techniques": Technique,
    "materials": Material,
}


def load() -> dict[str, Counter[str]]:
    """Add missing terms and renew those that no person has changed; may be run any number of times.

    Returns per scheme how many terms were added, renewed, and left as the department made them.
    """
    with change(user=None, why="Terms that come with the program."):
        told = {scheme: load_terms(model, read(scheme)) for scheme, model in MODELS.items()}
        load_material_dates(read("materials"))
    return told


def load_terms(model: type[Term], shipped: Mapping[str, dict[str, Any]]) -> Counter[str]:
    """Load one scheme: a query to read, one insert per level of the tree, one per renewed term."""
    present = {term.code: term for term in model._default_manager.all()}
    own = set(changed_by_people(model).values_list("code", flat=True))
    told: Counter[str] = Counter()
    levels: dict[int, list[Term]] = {}
    for code, entry in shipped.items():
        fields = {key: value for key, value in entry.items() if key not in {"broader", "dates"}}
        if code not in present:
            present[code] = model(code=code, **fields)
            levels.setdefault(depth(code, shipped), []).append(present[code])
        elif code in own:
            told["left"] += 1
        elif renewed(present[code], fields, shipped[code].get("broader"), present):
            told["renewed"] += 1
    for level in sorted(levels):
        for term in levels[level]:
            if broader := shipped[term.code].get("broader"):
                term.broader = present[broader]
        told["added"] += len(model._default_manager.bulk_create(levels[level]))
    return told


def renewed(
    term: Any, fields: dict[str, Any], broader: str | None, present: Mapping[str, Term]
) -> bool:
    """Give the term the shipped values; say whether anything changed."""
    broader_pk = present[broader].pk if broader else None
    if term.broader_id == broader_pk and all(getattr(term, k) == v for k, v in fields.items()):
        return False
    for name, value in fields.items():
        setattr(term, name, value)
    term.broader_id = broader_pk
    term.save()
    return True


def load_material_dates(shipped: Mapping[str, dict[str, Any]]) -> None:
    """Add missing dates; withdraw those once shipped that no longer are and no person touched."""
    materials = dict(Material.objects.values_list("code", "pk"))
    present = {key_of(date): date for date in MaterialDate.objects.all()}
    wanted = {
        (materials[code], row["kind"], row["date"], row["source"], row.get("note", ""))
        for code, entry in shipped.items()
        for row in entry.get("dates", [])
    }
    MaterialDate.objects.bulk_create(
        MaterialDate(material_id=pk, kind=kind, date=date, source=source, note=note)
        for pk, kind, date, source, note in sorted(wanted - present.keys())
    )
    own = set(changed_by_people(MaterialDate).values_list("pk", flat=True))
    for key in present.keys() - wanted:
        date = present[key]
        if date.pk not in own and not date.is_withdrawn:
            date.withdraw(user=None, why="No longer among the dates that come with the program.")


def key_of(date: MaterialDate) -> tuple[int, str, str, str, str]:
    return date.material_id, date.kind, date.date, date.source, date.note


def changed_by_people(model: type[Model]) -> QuerySet[Any]:
    """Records of which a signed-in person made any version."""
    return model._default_manager.filter(versions__pgh_context__metadata__user__gt=0).distinct()
