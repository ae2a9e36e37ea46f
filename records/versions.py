"""The history of changes of one record, told from the versions that the database keeps."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from typing import Any

from django.contrib.gis.geos import GEOSGeometry
from django.db import models
from django.utils.text import capfirst

from records.models import Record, User
from records.models.dates import EdtfBound
from records.vocabulary.settings import SETTINGS

# Kept by the program with every change, or told in other words.
UNTOLD = {
    "id", "created_at", "updated_at", "withdrawn_at", "withdrawn_by", "withdrawn_why",
    "signed_at", "signed_by", "sha256", "byte_size", "width_px", "height_px", "raw_sha256",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Difference:
    """One field, before and after; `before` is '' when nothing was there."""

    label: str
    before: str
    after: str


@dataclass(slots=True)
class Version:
    """One change: when, by whom, why, and what it changed."""

    at: datetime
    who: str
    why: str
    deed: str
    differences: list[Difference] = field(default_factory=list)


def versions_of(record: Record) -> list[Version]:
    """Every version of a record, newest first, ties to other records included.

    Takes one query for the versions, one for each many-to-many tie, one for names of accounts and
    one for each kind of record that a change points to.
    """
    model = type(record)
    rows = list(record.versions.select_related("pgh_context").order_by("pgh_id"))  # type: ignore[attr-defined]
    ties = [tie for f in model._meta.many_to_many for tie in _ties(record, f)]
    told = [f for f in model._meta.concrete_fields if _is_told(f, rows)]
    names = _Names()
    for before, after in pairwise(rows):
        for f in told:
            if f.is_relation and getattr(before, f.attname) != getattr(after, f.attname):
                names.want(f, getattr(before, f.attname), getattr(after, f.attname))
    for _row, f, pk in ties:
        names.want(f, pk)
    names.want_accounts(row.pgh_context for row in [*rows, *(tie[0] for tie in ties)])
    names.look_up()

    versions: dict[Any, Version] = {}
    for number, after in enumerate(rows):
        version = _version(after, names, _deed(rows, number))
        if number:
            before = rows[number - 1]
            version.differences = [
                Difference(_label(f), _tell(f, old, names), _tell(f, new, names))
                for f in told
                if (old := getattr(before, f.attname)) != (new := getattr(after, f.attname))
            ]
        versions[(after.pgh_context_id, number)] = version
    _add_ties(versions, ties, names)
    in_order = sorted(enumerate(versions.values()), key=lambda kept: (kept[1].at, kept[0]))
    return [version for _, version in reversed(in_order)]


def _ties(record: Record, f: Any) -> Iterable[tuple[Any, Any, Any]]:
    """Versions of the many-to-many table of one field: (version, field, the other record's key)."""
    through = f.remote_field.through
    proxy = next(iter(through.__subclasses__()), None)
    if proxy is None:
        return
    (version_model,) = set(proxy.pgh_event_models.values())
    here, there = f.m2m_field_name(), f.m2m_reverse_field_name()
    found = version_model.objects.select_related("pgh_context").filter(**{here: record.pk})
    for row in found.order_by("pgh_id"):
        yield row, f, getattr(row, f"{there}_id")


def _add_ties(versions: dict[Any, Version], ties: list[Any], names: "_Names") -> None:
    """Tell ties in the version of the same change, or in one of their own."""
    by_context = {context: version for (context, _), version in versions.items()}
    for row, f, pk in ties:
        version = by_context.get(row.pgh_context_id)
        if version is None:
            version = _version(row, names, "changed")
            by_context[row.pgh_context_id] = version
            versions[(row.pgh_context_id, "ties")] = version
        if version.deed == "recorded":
            continue
        name = names.of(f, pk)
        added = row.pgh_label == "insert"
        difference = Difference(_label(f), "" if added else name, name if added else "")
        version.differences.append(difference)


def _version(row: Any, names: "_Names", deed: str) -> Version:
    metadata = row.pgh_context.metadata if row.pgh_context else {}
    return Version(row.pgh_created_at, names.account(metadata), metadata.get("why", ""), deed)


def _deed(rows: list[Any], number: int) -> str:
    after = rows[number]
    if number == 0:
        return "recorded"
    before = rows[number - 1]
    if after.withdrawn_at and not before.withdrawn_at:
        return "withdrawn"
    if getattr(after, "signed_at", None) and not before.signed_at:
        return "signed"
    return "changed"


def _is_told(f: Any, rows: list[Any]) -> bool:
    return (
        f.name not in UNTOLD
        and not isinstance(f, EdtfBound)
        and (not rows or hasattr(rows[0], f.attname))
    )


def _label(f: Any) -> str:
    return str(capfirst(f.verbose_name))


def _tell(f: Any, value: Any, names: "_Names") -> str:
    """A value as a person reads it; '' when there is none."""
    if value is None or value == "" or value == {} or value == []:
        return ""
    if f.is_relation:
        return names.of(f, value)
    if f.flatchoices:
        return str(dict(f.flatchoices).get(value, value))
    if isinstance(value, GEOSGeometry):
        return _tell_shape(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return "; ".join(_tell_part(key, part) for key, part in value.items())
    if isinstance(value, list):
        if all(isinstance(part, list) for part in value):
            return f"{len(value)} lines"
        return "; ".join(str(part) for part in value)
    return str(value)


def _tell_part(key: str, part: Any) -> str:
    """A named value; a setting of an information sheet with its label and unit."""
    if setting := SETTINGS.get(key):
        return f"{setting.label}: {setting.told(part)}"
    if isinstance(part, dict):
        return f"{key}: {', '.join(str(value) for value in part.values() if value)}"
    return f"{key}: {part}"


def _tell_shape(shape: GEOSGeometry) -> str:
    x, y = shape.centroid.coords
    size = f", {shape.area:,.0f} mm²" if shape.area else ""
    size = size or (f", {shape.length:,.0f} mm long" if shape.length else "")
    return f"{shape.geom_type.lower()} around {x:.0f}, {y:.0f} mm{size}"


class _Names:
    """The names of other records and of accounts, looked up together."""

    def __init__(self) -> None:
        self._wanted: dict[type[models.Model], set[Any]] = {}
        self._found: dict[type[models.Model], dict[Any, models.Model]] = {}

    def want(self, f: Any, *keys: Any) -> None:
        wanted = self._wanted.setdefault(f.related_model, set())
        wanted.update(key for key in keys if key is not None)

    def want_accounts(self, contexts: Iterable[Any]) -> None:
        keys = {c.metadata.get("user") for c in contexts if c} - {None}
        self._wanted.setdefault(User, set()).update(keys)

    def look_up(self) -> None:
        for model, keys in self._wanted.items():
            self._found[model] = model._default_manager.in_bulk(keys) if keys else {}

    def of(self, f: Any, key: Any) -> str:
        return str(self._found.get(f.related_model, {}).get(key, f"no. {key}"))

    def account(self, metadata: dict[str, Any]) -> str:
        return str(self._found.get(User, {}).get(metadata.get("user"), "the program"))
