"""Checking a table of samples and results against the records, and writing it as one change.

The import adds: it never changes a record that is there already. Where a cell says something else
than such a record, that is a problem to settle, not a change to make.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.contrib.gis.geos import Point
from django.db.models import ForeignKey, Model

from analyses.choices import Decision
from analyses.imports import tables
from analyses.imports.columns import COLUMNS, Column, Level
from analyses.imports.known import Key, Known
from analyses.imports.tables import Row
from analyses.models import (
    Analysis,
    Identification,
    IdentificationReading,
    Layer,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.changes import change
from records.imports import Problem, Refused, misplaced, nearest
from records.models import Object, User
from records.models.places import SRID
from records.reconstruction import recompute

EXAMPLE = Path(__file__).parent / "examples" / "results.csv"

MODELS: dict[Level, type[Model]] = {
    Level.POINT: SamplingPoint,
    Level.SAMPLE: Sample,
    Level.PREPARATION: Preparation,
    Level.LAYER: Layer,
    Level.ANALYSIS: Analysis,
    Level.READING: Reading,
    Level.IDENTIFICATION: Identification,
}
# The column that names a thing, and the thing that it needs in the same row.
NAMED_BY = {
    Level.POINT: "point",
    Level.SAMPLE: "sample",
    Level.PREPARATION: "preparation",
    Level.LAYER: "layer",
    Level.ANALYSIS: "technique",
    Level.READING: "reading",
    Level.IDENTIFICATION: "material",
}
NEEDS = {
    Level.SAMPLE: Level.POINT,
    Level.PREPARATION: Level.SAMPLE,
    Level.LAYER: Level.PREPARATION,
    Level.ANALYSIS: Level.POINT,
    Level.READING: Level.ANALYSIS,
    Level.IDENTIFICATION: Level.POINT,
}
IN_WORDS = {
    Level.POINT: "sampling points",
    Level.SAMPLE: "samples",
    Level.PREPARATION: "preparations",
    Level.LAYER: "layers",
    Level.ANALYSIS: "analyses",
    Level.READING: "readings",
    Level.IDENTIFICATION: "proposed materials",
}


@dataclass(eq=False, slots=True)
class Draft:
    """A thing that rows speak of: a record that is kept already, or one to be made."""

    level: Level
    key: Key
    parent: Key
    record: Any
    row: Row
    is_new: bool
    stated: dict[str, tuple[Any, Row]] = field(default_factory=dict)
    ties: list["Draft"] = field(default_factory=list)


class ResultsPlan:
    """What an import would write, or why it cannot; nothing of it is saved yet."""

    def __init__(self, item: Object, data: bytes) -> None:
        rows, found = tables.read(data)
        self.known = Known(item, rows)
        self.item = item
        self.drafts: dict[Level, dict[Key, Draft]] = {level: {} for level in Level}
        self._found = found
        self._hints: dict[tuple[str, str], str] = {}
        for row in rows:
            self._take(row)
        self._complete()
        self._found.sort(key=_row_of)
        self.problems = [problem for problem in self._found if problem.stops]
        self.remarks = [problem for problem in self._found if not problem.stops]

    @property
    def is_ready(self) -> bool:
        return not self.problems and any(self.new(level) for level in Level)

    def new(self, level: Level) -> list[Draft]:
        return [draft for draft in self.drafts[level].values() if draft.is_new]

    @property
    def summary(self) -> list[tuple[str, int]]:
        """What would be written, in words and numbers."""
        told = [(f"new {IN_WORDS[level]}", len(self.new(level))) for level in Level]
        known = sum(len(drafts) for drafts in self.drafts.values()) - sum(n for _w, n in told)
        return [*told, ("records that stand already and stay as they are", known)]

    def _say(self, row: Row, column: str, words: str, *, stops: bool = True) -> None:
        self._found.append(Problem(row.place(column), words, stops))

    def _take(self, row: Row) -> None:
        """Take in what one row says, level by level."""
        here: dict[Level, Draft] = {}
        for level in Level:
            draft = self._draft(level, row, here)
            if draft is not None:
                here[level] = draft
                self._state(draft, row)
        for column in COLUMNS:
            named_by = NAMED_BY[column.level]
            if (
                column.name in row.values
                and column.level not in here
                and column.level is not Level.POINT
                and column.name != named_by
                and named_by not in row.values
                and named_by not in row.faulty
            ):
                self._say(row, column.name, f"is given, but the row names no {named_by}.")
        if Level.IDENTIFICATION in here and Level.READING in here:
            here[Level.IDENTIFICATION].ties.append(here[Level.READING])

    def _draft(self, level: Level, row: Row, here: dict[Level, Draft]) -> Draft | None:
        """The thing of one level that the row names; None, with the problem told, when it fails."""
        name = NAMED_BY[level]
        if name not in row.values:
            if level is Level.POINT and name not in row.faulty:
                self._say(row, name, "is missing; every row needs its sampling point.")
            return None
        needed = NEEDS.get(level)
        if needed is not None and needed not in here:
            if NAMED_BY[needed] not in row.values and NAMED_BY[needed] not in row.faulty:
                self._say(row, name, f"is given, but the row names no {NAMED_BY[needed]}.")
            return None
        target = _target(row, here)
        found = self._identify(level, row, here, target)
        if found is None:
            return None
        key, parent, fields = found
        draft = self.drafts[level].get(key)
        if draft is None:
            record = self.known.records[level].get(key)
            if record is not None:
                parent_kept = self.known.parents[level][key]
                draft = Draft(level, key, parent_kept, record, row, is_new=False)
            else:
                draft = Draft(level, key, parent, MODELS[level](**fields), row, is_new=True)
            self.drafts[level][key] = draft
        if draft.parent != parent and level in (Level.SAMPLE, Level.PREPARATION):
            above = NAMED_BY[NEEDS[level]]
            self._say(row, name, f"“{row.values[name]}” belongs to another {above}.")
            return None
        if not draft.is_new and draft.record.withdrawn_at is not None:
            self._say(row, name, f"“{row.values[name]}” is withdrawn.")
            return None
        return draft

    def _identify(
        self, level: Level, row: Row, here: dict[Level, Draft], target: Draft | None
    ) -> tuple[Key, Key, dict[str, Any]] | None:
        """Natural key, key of what it belongs to, and the fields that a new record starts with."""
        values = row.values
        name = values[NAMED_BY[level]]
        match level:
            case Level.POINT:
                face = self._face(row)
                return face and ((face.pk, name), None, {"face": face, "number": name})
            case Level.SAMPLE:
                point = here[Level.POINT]
                return name, point.key, {"number": name, "point": point.record}
            case Level.PREPARATION:
                sample = here[Level.SAMPLE]
                return name, sample.key, {"number": name, "sample": sample.record}
            case Level.LAYER:
                section = here[Level.PREPARATION]
                return (
                    (section.key, name),
                    section.key,
                    {"number": name, "preparation": section.record},
                )
            case Level.READING:
                analysis = here[Level.ANALYSIS]
                if "reading_kind" not in values:
                    if "reading_kind" not in row.faulty:
                        self._say(row, "reading_kind", "is missing; a reading needs its kind.")
                    return None
                fields = {
                    "kind": values["reading_kind"],
                    "label": name,
                    "value": values.get("value"),
                    "unit": values.get("unit", ""),
                }
                if fields["value"] is not None and not fields["unit"]:
                    self._say(row, "unit", "is missing; a value needs its unit.")
                key = (analysis.key, *fields.values())
                return key, analysis.key, {**fields, "analysis": analysis.record}
        name = "technique" if level is Level.ANALYSIS else "material"
        words = self.known.techniques if level is Level.ANALYSIS else self.known.materials
        term = self._term(row, name, words)
        if term is None or target is None:
            return None
        at = (target.level, target.key)
        fields = {target.level.name.lower(): target.record, name: term}
        if level is Level.IDENTIFICATION:
            return (at, term.pk), at, fields
        date = values.get("analysis_date", "")
        return (at, term.pk, date), at, {**fields, "date": date}

    def _face(self, row: Row) -> Any:
        faces = self.known.faces
        name = row.values.get("face", "")
        if not name and len(faces) == 1:
            return next(iter(faces.values()))
        if face := faces.get(name.casefold()):
            return face
        if "face" not in row.faulty:
            has = ", ".join(face.name for face in faces.values()) or "none"
            words = f"“{name}” is no face of {self.item.accession_number}" if name else "is missing"
            self._say(row, "face", f"{words}; it has: {has}.")
        return None

    def _term(self, row: Row, column: str, words: dict[str, Any]) -> Any:
        name = row.values[column]
        if (term := words.get(name.casefold())) is None:
            if (column, name) not in self._hints:
                self._hints[column, name] = nearest(name, words)
            self._say(row, column, f"“{name}” is no {column}{self._hints[column, name]}.")
        return term

    def _state(self, draft: Draft, row: Row) -> None:
        """Take in what the cells of a row say of a thing, or what they contradict."""
        for column in _facts(draft.level):
            if column.name not in row.values:
                continue
            value = row.values[column.name]
            if column.field in draft.stated:
                said, before = draft.stated[column.field]
                if said != value:
                    self._say(row, column.name, f"contradicts row {before.number} (“{said}”).")
                continue
            draft.stated[column.field] = (value, row)
            if not draft.is_new:
                self._compare(draft, row, column, value)

    def _compare(self, draft: Draft, row: Row, column: Column, value: Any) -> None:
        kept = _kept(draft.record, column.field)
        if kept in (None, ""):
            words = "is not taken over: the record stands already. Add it on the record's page."
            self._say(row, column.name, words, stops=False)
        elif kept != value:
            self._say(
                row, column.name, f"the record says “{kept}”. Change the record on its own page."
            )

    def _complete(self) -> None:
        """Fill the new records from what was stated; report what they lack."""
        with_sample = {draft.parent for draft in self.drafts[Level.SAMPLE].values()}
        for draft in self._all_new():
            stated = {name: value for name, (value, _row) in draft.stated.items()}
            if draft.level is Level.POINT:
                self._complete_point(draft, stated, has_sample=draft.key in with_sample)
            elif draft.level is Level.PREPARATION:
                self._require(draft, "preparation_kind", "a new preparation needs its kind")
            elif draft.level is Level.LAYER:
                self._require(draft, "layer_description", "a new layer needs its description")
                low, high = stated.get("thickness_min_um"), stated.get("thickness_max_um")
                if low is not None and high is not None and low > high:
                    self._say(draft.row, "thickness_max_um", "is less than the least thickness.")
            elif draft.level is Level.IDENTIFICATION and not stated.get("grounds"):
                if not draft.ties:
                    self._say(draft.row, "grounds", "is missing; say what the material rests on.")
                read = ", ".join(dict.fromkeys(tie.record.label for tie in draft.ties))
                stated["grounds"] = f"Stated with the readings {read}."
            for name, value in stated.items():
                setattr(draft.record, name, value)
        for draft in self.new(Level.READING):
            analysis = self.drafts[Level.ANALYSIS][draft.parent]
            if analysis.record.is_signed:
                self._say(
                    draft.row, "reading", "its analysis is signed and takes no more readings."
                )
        self._check_places()

    def _all_new(self) -> Iterator[Draft]:
        for level in Level:
            yield from self.new(level)

    def _complete_point(self, draft: Draft, stated: dict[str, Any], *, has_sample: bool) -> None:
        x, y = stated.pop("x_mm", None), stated.pop("y_mm", None)
        for column, value in (("x_mm", x), ("y_mm", y)):
            if value is None:
                self._require(draft, column, "a new sampling point has a place")
        if x is not None and y is not None:
            draft.record.geometry = Point(x, y, srid=SRID)
        stated.setdefault("invasive", has_sample)
        if stated["invasive"]:
            self._require(draft, "permission", "say who allowed material to be removed")

    def _require(self, draft: Draft, column: str, words: str) -> None:
        fact = next(c.field for c in COLUMNS if c.name == column)
        if fact not in draft.stated and column not in draft.row.faulty:
            self._say(draft.row, column, f"is missing; {words}.")

    def _check_places(self) -> None:
        by_face: dict[Any, dict[int, Draft]] = {}
        for number, draft in enumerate(self.new(Level.POINT)):
            if draft.record.geometry is not None:
                by_face.setdefault(draft.record.face, {})[number] = draft
        for face, drafts in by_face.items():
            shapes = {number: draft.record.geometry for number, draft in drafts.items()}
            for number, words in misplaced(face, shapes).items():
                self._say(drafts[number].row, "point", words)


def plan_results(data: bytes, item: Object) -> ResultsPlan:
    """Check a table against the records; a fixed number of queries however many rows."""
    return ResultsPlan(item, data)


def import_results(data: bytes, item: Object, *, user: User, why: str) -> ResultsPlan:
    """Write a table, all or nothing, as one change; raises Refused with every problem."""
    with change(user=user, why=why):
        # Two people importing for one object go one after the other.
        Object.objects.select_for_update(of=("self",)).get(pk=item.pk)
        plan = plan_results(data, item)
        if plan.problems:
            raise Refused(plan.problems)
        for level, model in MODELS.items():
            records = [draft.record for draft in plan.new(level)]
            for record in records:
                _take_over_keys(record)
            model._default_manager.bulk_create(records)
        IdentificationReading.objects.bulk_create(_new_ties(plan))
        recompute.request(item.pk)
    return plan


def _take_over_keys(record: Model) -> None:
    """Let a record know the keys that the new records it points to have by now."""
    for fact in record._meta.concrete_fields:
        if isinstance(fact, ForeignKey) and fact.is_cached(record):
            setattr(record, fact.name, getattr(record, fact.name))


def _new_ties(plan: ResultsPlan) -> Iterator[IdentificationReading]:
    """Readings given in the same row as a material, where its decision is still open."""
    for draft in plan.drafts[Level.IDENTIFICATION].values():
        if draft.record.decision != Decision.PROPOSED or draft.record.is_signed:
            continue
        for reading in dict.fromkeys(tie.record for tie in draft.ties):
            if (draft.record.pk, reading.pk) not in plan.known.ties:
                yield IdentificationReading(identification=draft.record, reading=reading)


def _target(row: Row, here: dict[Level, Draft]) -> Draft | None:
    """What an analysis or a material of the row belongs to; None when the way there fails."""
    places = (Level.LAYER, Level.PREPARATION, Level.SAMPLE, Level.POINT)
    if any(p not in here and NAMED_BY[p] in row.values.keys() | row.faulty for p in places):
        return None
    return next((here[p] for p in places if p in here and p is not Level.PREPARATION), None)


def _facts(level: Level) -> list[Column]:
    return [column for column in COLUMNS if column.level is level and column.field]


def _kept(record: Any, name: str) -> Any:
    if name in ("x_mm", "y_mm"):
        return getattr(record.geometry, name[0])
    return getattr(record, name)


def _row_of(problem: Problem) -> int:
    """The row that a problem lies in; what concerns the file as a whole comes first."""
    first = problem.place.split(",")[0]
    return int(first.removeprefix("Row ")) if first.startswith("Row ") else 0
