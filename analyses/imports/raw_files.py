"""Bringing in raw files by the hundred: a folder or ZIP, each file tied to its analysis.

A table `files.csv` or `files.xlsx` beside the files says where each belongs, or else its name does.
Every file is read by `analyses.spectra.readers` before anything is written; then all are kept or
none. What the records say already is never changed: an analysis that has no raw file receives it,
otherwise a new analysis is made.
"""

import hashlib
import io
import re
import stat
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Literal
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.db.models import Q
from django.utils import timezone

from analyses.curves import OVER, in_words, misplaced
from analyses.imports import tables
from analyses.imports.columns import Column, Level, text, when, whole, yes_or_no
from analyses.imports.known import words_for
from analyses.imports.tables import Row
from analyses.models import Analysis, Layer, Sample, SamplingPoint
from analyses.models.results import FILE, READ_AS
from analyses.spectra.readers import ChoiceNeeded, ColumnChoice, Unreadable, read
from records.changes import change
from records.imports import Problem, Refused, nearest
from records.models import Material, Object, Technique, User

A = Level.ANALYSIS
COLUMNS = (
    Column("file", A, "", "Name of the file, with its folders where there are any.",
           "xrf/P3.msa", "always"),
    Column("object", A, "", "Accession number of the object.", "1999.12",
           "when a point is named and no object was chosen"),
    Column("face", A, "", "Name of the face.", "recto", "when two faces have that point"),
    Column("point", A, "", "Number of the sampling point.", "P3", "point, sample or layer"),
    Column("sample", A, "", "Number of the sample.", "S-2024-07", "point, sample or layer"),
    Column("preparation", A, "", "Number of the preparation.", "S-2024-07-a", "with a layer"),
    Column("layer", A, "", "Number of the layer, 1 for the lowest.", "3",
           "point, sample or layer", whole),
    Column("technique", A, "", "Code, label or abbreviation.", "FTIR", "always"),
    Column("date", A, "date", "When it was analysed (EDTF).", "2024-04", "no", when),
    Column("instrument", A, "instrument", "Instrument, as the laboratory calls it.",
           "FTIR microscope", "no", text, 200),
    Column("note", A, "note", "Anything else about the analysis.", "dark spot"),
    Column("x_column", A, "x", "Column of the places in a table of numbers, counted from 1.", "1",
           "for tables of more than two columns", whole),
    Column("y_column", A, "y", "Column of the values.", "3",
           "for tables of more than two columns", whole),
    Column("x_unit", A, "x_unit", "Unit of the places, where the file does not say it.", "cm⁻¹",
           "no", text, 24),
    Column("y_unit", A, "y_unit", "What the values are, where the file does not say it.",
           "absorbance", "no", text, 24),
    Column("reference_for", A, "", "Material that it is a reference spectrum of: code or label. "
           "Infrared spectra are compared with it from then on.", "chalk"),
    Column("unread", A, "", "yes to keep a file that cannot be read, as it is.", "yes", "no",
           yes_or_no),
)  # fmt: skip
BY_NAME = {column.name: column for column in COLUMNS}
TABLES = ("files.csv", "files.xlsx")
NAMING = re.compile(r"(?P<place>.+?)__(?P<technique>[^_]+?)(?:__.*)?$")
LEFT_ALONE = re.compile(r"(^|/)(\.|__MACOSX/|Thumbs\.db$|desktop\.ini$)", re.IGNORECASE)
MOST_FILES = 5000
MOST_BYTES = 1024**3
RAW_FILE: Any = Analysis._meta.get_field("raw_file")
TARGETS = (
    "technique", "point__face__object", "sample__point__face__object",
    "layer__preparation__sample__point__face__object",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Entry:
    """A file of the batch, by its name in it."""

    name: str
    load: Callable[[], bytes]


@dataclass(eq=False, slots=True)
class Arrival:
    """One file: where it belongs, what it was read as, and what becomes of it."""

    entry: Entry
    row: Row
    sha256: str = ""
    read_as: str = ""
    target: SamplingPoint | Sample | Layer | None = None
    technique: Technique | None = None
    deed: Literal["new", "joins", "kept"] = "new"
    analysis: Analysis | None = None
    choice: ColumnChoice | None = None
    reference_for: Material | None = None

    @property
    def name(self) -> str:
        return self.entry.name

    @property
    def said(self) -> str:
        """What becomes of it, in words."""
        return {
            "new": "a new analysis",
            "joins": "joins the analysis that has no raw file yet",
            "kept": "kept already, nothing is added",
        }[self.deed]


class RawFilesPlan:
    """What a batch would add, or why it cannot; nothing is written yet.

    A fixed number of queries however many files.
    """

    def __init__(self, entries: list[Entry], item: Object | None) -> None:
        self.item = item
        self._found: list[Problem] = []
        self.files: list[Arrival] = []
        if len(entries) > MOST_FILES:
            self._say("Files", f"{len(entries)} are too many; up to {MOST_FILES} go at once.")
            entries = []
        found, rows = self._listed(entries)
        self.files = [Arrival(entry, row) for entry, row in zip(found, rows, strict=True)]
        if not self.files and not self._found:
            self._say("Files", "There are none to import.")
        self._records = Places(rows, item)
        for file in self.files:
            self._place(file)
        for file in self.files:
            self._read(file)
        self._tie()
        self.problems = [problem for problem in self._found if problem.stops]
        self.remarks = [problem for problem in self._found if not problem.stops]

    @property
    def is_ready(self) -> bool:
        return not self.problems and any(file.deed != "kept" for file in self.files)

    @property
    def summary(self) -> list[tuple[str, int]]:
        count = {deed: sum(f.deed == deed for f in self.files) for deed in ("new", "joins", "kept")}
        return [
            ("new analyses with their raw file", count["new"]),
            ("analyses that receive their raw file", count["joins"]),
            ("files that are kept already and stay as they are", count["kept"]),
        ]

    def _say(self, place: str, words: str, *, stops: bool = True) -> None:
        self._found.append(Problem(place, words, stops))

    def _listed(self, entries: list[Entry]) -> tuple[list[Entry], list[Row]]:
        """The files with their rows: those of the table, else made from the names."""
        tables_here = [e for e in entries if PurePosixPath(e.name).name.casefold() in TABLES]
        files = [entry for entry in entries if entry not in tables_here]
        if len(tables_here) > 1:
            self._say("Files", f"There are two tables: {', '.join(e.name for e in tables_here)}.")
            return [], []
        if not tables_here:
            return files, [self._row_from_name(entry) for entry in files]
        table = tables_here[0]
        rows, problems = tables.read(table.load(), BY_NAME, ("file", "technique"))
        self._found += [Problem(f"{table.name}, {p.place}", p.words, p.stops) for p in problems]
        root = PurePosixPath(table.name).parent
        by_name: dict[str, Entry] = {}
        for entry in files:
            path = PurePosixPath(entry.name)
            inside = path.relative_to(root) if path.is_relative_to(root) else path
            if (other := by_name.setdefault(str(inside).casefold(), entry)) is not entry:
                self._say(entry.name, f"is called like {other.name}: rename one of the two.")
        listed: list[tuple[Entry, Row]] = []
        seen: dict[str, int] = {}
        for row in rows:
            for name, cell in row.cells.items():
                row.cells[name] = f"{cell} of {table.name}"
            if "file" not in row.values:
                if "file" not in row.faulty:
                    self._say(row.place("file"), "is missing; every row names its file.")
                continue
            name = row.values["file"].replace("\\", "/").removeprefix("./").casefold()
            if name in seen:
                self._say(row.place("file"), f"stands in row {seen[name]} already.")
            elif name not in by_name:
                words = f"“{row.values['file']}” is not among the files{nearest(name, by_name)}."
                self._say(row.place("file"), words)
            else:
                listed.append((by_name[name], row))
            seen[name] = row.number
        for name, entry in by_name.items():
            if name not in seen:
                self._say(entry.name, f"is among the files, but in no row of {table.name}.")
        return [entry for entry, _ in listed], [row for _, row in listed]

    def _row_from_name(self, entry: Entry) -> Row:
        """'S-7-a.3__FTIR__edge.dx' is of layer 3 of preparation S-7-a."""
        row = Row(0)
        match = NAMING.match(PurePosixPath(entry.name).stem)
        if match is None:
            words = (
                "says not where it belongs: name it PLACE__TECHNIQUE, as in P3__XRF.msa, or add a "
                "table files.csv with the columns file, technique and point, sample or layer."
            )
            self._say(entry.name, words)
            row.faulty |= {"place", "technique"}
            return row
        row.values = {"place": match["place"], "technique": match["technique"]}
        return row

    def _where(self, file: Arrival, column: str) -> str:
        return file.row.place(column) if file.row.number else file.name

    def _place(self, file: Arrival) -> None:
        values = file.row.values
        if "technique" in values:
            words = self._records.techniques
            file.technique = words.get(values["technique"].casefold())
            if file.technique is None:
                hint = nearest(values["technique"], words)
                self._say(self._where(file, "technique"),
                          f"“{values['technique']}” is no technique{hint}.")  # fmt: skip
        elif "technique" not in file.row.faulty:
            self._say(self._where(file, "technique"), "is missing; say how it was analysed.")
        if named := values.get("reference_for"):
            file.reference_for = self._records.materials.get(named.casefold())
            if file.reference_for is None:
                hint = nearest(named, self._records.materials)
                self._say(self._where(file, "reference_for"), f"“{named}” is no material{hint}.")
        found = self._records.find(file.row)
        if isinstance(found, Misplaced):
            self._say(self._where(file, found.column), found.words)
        elif found is not None:
            file.target = found

    def _read(self, file: Arrival) -> None:
        """Read the file as the program would later, and say what it was read as."""
        data = file.entry.load()
        file.sha256 = hashlib.sha256(data).hexdigest()
        file.choice = _choice(file.row)
        try:
            curve = read(data, file.name, file.choice)
        except Unreadable as error:
            place = f"{file.name}, line {error.line}" if error.line else file.name
            if file.row.values.get("unread"):
                file.read_as = "not read"
                self._say(place, f"is kept unread: {error.words}", stops=False)
            elif isinstance(error, ChoiceNeeded):
                self._say(place, f"{error.words} In files.csv, x_column and y_column say it.")
            else:
                self._say(place, error.words)
            return
        file.read_as = in_words(curve)
        if file.technique is None:
            return
        if words := misplaced(file.technique, curve):
            self._say(file.name, words)
        elif curve.x_unit not in OVER.get(file.technique.code, {curve.x_unit}):
            said = f"names “{curve.x_unit}”" if curve.x_unit else "names no unit"
            self._say(file.name, f"{said} for its axis: add it as x_unit to the table.",
                      stops=False)  # fmt: skip

    def _tie(self) -> None:
        """Which analysis each file goes to; the same content never twice."""
        kept = {
            analysis.raw_sha256: analysis
            for analysis in Analysis.objects.filter(
                raw_sha256__in=[file.sha256 for file in self.files], withdrawn_at=None
            ).select_related(*TARGETS)
        }
        waiting = self._records.waiting()
        first: dict[str, Arrival] = {}
        for file in self.files:
            if file.sha256 in first:
                self._say(file.name, f"is the same, byte for byte, as {first[file.sha256].name}.")
                continue
            first[file.sha256] = file
            if file.target is None or file.technique is None:
                continue
            if analysis := kept.get(file.sha256):
                file.deed, file.analysis = "kept", analysis
                if (analysis.target, analysis.technique) != (file.target, file.technique):
                    self._say(file.name, f"is kept already, but as {_told(analysis)}.")
                else:
                    self._say(file.name, f"is kept already as {_told(analysis)}.", stops=False)
                continue
            date = file.row.values.get("date", "")
            here = waiting.get((file.target, file.technique.pk), [])
            fits = [one for one in here if not date or not one.date or one.date == date]
            if len(fits) > 1:
                self._say(
                    self._where(file, "date"),
                    f"{len(fits)} analyses there have no raw file yet "
                    f"({', '.join(one.date or 'undated' for one in fits)}). Say which by its date "
                    "in files.csv, or add the file on the page of the analysis.",
                )
            elif fits and fits[0].is_signed:
                self._say(file.name, f"{_told(fits[0])} is signed and takes no file any more.")
            elif fits:
                file.deed, file.analysis = "joins", fits[0]
                here.remove(fits[0])


class Places:
    """The records that the rows name, fetched by a fixed number of queries."""

    def __init__(self, rows: Iterable[Row], item: Object | None) -> None:
        self.item = item
        rows = list(rows)

        def named(*columns: str) -> set[Any]:
            return {row.values[c] for row in rows for c in columns if c in row.values}

        free = named("place")
        parts = {match[1]: int(match[2]) for word in free
                 if (match := re.fullmatch(r"(.+)\.(\d{1,4})", word))}  # fmt: skip
        self.techniques = words_for(Technique, "code", "abbreviation", "label")
        self.materials = words_for(Material, "code", "label") if named("reference_for") else {}
        points = SamplingPoint.objects.filter(number__in=named("point") | free)
        if item is not None:
            points = points.filter(face__object=item)
        else:
            points = points.filter(face__object__accession_number__in=named("object"))
        self.points = list(points.select_related("face__object"))
        self.samples = {
            sample.number: sample
            for sample in Sample.objects.filter(number__in=named("sample") | free).select_related(
                "point__face__object"
            )
        }
        layers = Layer.objects.filter(
            preparation__number__in=named("preparation") | set(parts), withdrawn_at=None
        )
        self.layers = {
            (layer.preparation.number, layer.number): layer
            for layer in layers.select_related("preparation__sample__point__face__object")
        }

    def waiting(self) -> dict[tuple[Any, int], list[Analysis]]:
        """Standing analyses of these places that have no raw file, by place and technique."""
        of = (
            Q(point__in=[p.pk for p in self.points])
            | Q(sample__in=[s.pk for s in self.samples.values()])
            | Q(layer__in=[y.pk for y in self.layers.values()])
        )
        found: dict[tuple[Any, int], list[Analysis]] = {}
        analyses = Analysis.objects.filter(of, raw_file="", withdrawn_at=None)
        for analysis in analyses.select_related(*TARGETS):
            found.setdefault((analysis.target, analysis.technique_id), []).append(analysis)
        return found

    def find(self, row: Row) -> "SamplingPoint | Sample | Layer | Misplaced | None":
        """The place of a row; None when that was told already."""
        values = row.values
        if row.faulty & {"place", "point", "sample", "preparation", "layer"}:
            return None
        if "place" in values:
            return self._called(values["place"])
        if "layer" in values:
            if "preparation" not in values:
                return Misplaced("preparation", "is missing; a layer needs its preparation.")
            found: Any = self.layers.get((values["preparation"], values["layer"]))
            words = f"There is no layer {values['layer']} of “{values['preparation']}”."
            return self._checked(found, "layer", words)
        if "sample" in values:
            found = self.samples.get(values["sample"])
            return self._checked(found, "sample", f"There is no sample “{values['sample']}”.")
        if "point" in values:
            return self._point(values)
        return Misplaced("point", "is missing; name a point, a sample or a layer.")

    def _point(self, values: dict[str, Any]) -> "SamplingPoint | Misplaced":
        number = values.get("object")
        if self.item is None and number is None:
            return Misplaced("object", "is missing; the number of a point needs its object.")
        found = [
            point
            for point in self.points
            if point.number == values["point"]
            and (number is None or point.face.object.accession_number == number)
            and ("face" not in values or point.face.name.casefold() == values["face"].casefold())
        ]
        if len(found) > 1:
            faces = ", ".join(point.face.name for point in found)
            return Misplaced("face", f"is missing; the point is on several: {faces}.")
        words = f"There is no sampling point “{values['point']}” there."
        checked = self._checked(found[0] if found else None, "point", words)
        return checked  # type: ignore[return-value]

    def _called(self, word: str) -> "SamplingPoint | Sample | Layer | Misplaced":
        """What a word in a file name means: a point, a sample, or a layer as PREPARATION.NUMBER."""
        match = re.fullmatch(r"(.+)\.(\d{1,4})", word)
        layer = self.layers.get((match[1], int(match[2]))) if match else None
        means = [
            *[point for point in self.points if point.number == word],
            *[found for found in (self.samples.get(word), layer) if found],
        ]
        if len(means) > 1:
            words = (
                f"“{word}” means {len(means)} things ({', '.join(map(_kind, means))}): say which "
                "in a table files.csv."
            )
            return Misplaced("place", words)
        words = f"“{word}” is no sampling point, sample or layer (PREPARATION.NUMBER) here."
        return self._checked(means[0] if means else None, "place", words)

    def _checked(
        self, found: Any, column: str, words: str
    ) -> "SamplingPoint | Sample | Layer | Misplaced":
        if found is None:
            return Misplaced(column, words)
        if found.withdrawn_at is not None:
            return Misplaced(column, f"{found} is withdrawn.")
        item = _object_of(found)
        if self.item is not None and item != self.item:
            return Misplaced(column, f"{found} belongs to {item.accession_number}.")
        place: SamplingPoint | Sample | Layer = found
        return place


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Why a row has no place, and the column that it lies in."""

    column: str
    words: str


def _object_of(found: Any) -> Object:
    if isinstance(found, Layer):
        found = found.preparation.sample
    point = found.point if isinstance(found, Sample) else found
    item: Object = point.face.object
    return item


def _kind(found: Any) -> str:
    return f"{found._meta.verbose_name} {found}"


def _told(analysis: Analysis) -> str:
    date = f", {analysis.date}" if analysis.date else ""
    return f"{analysis}{date} (analysis {analysis.pk})"


def _choice(row: Row) -> ColumnChoice | None:
    said = {
        column.field: row.values[column.name]
        for column in COLUMNS
        if column.name in ("x_column", "y_column", "x_unit", "y_unit") and column.name in row.values
    }
    for name in ("x", "y"):
        if name in said:
            said[name] -= 1
    return ColumnChoice(**said) if said else None


def entries_in(source: Path | bytes) -> list[Entry]:
    """The files of a folder or ZIP, by name; raises Refused when it is neither."""
    if isinstance(source, Path) and source.is_dir():
        found = [
            Entry(path.relative_to(source).as_posix(), path.read_bytes)
            for path in sorted(source.rglob("*"))
            if path.is_file()
        ]
        return [entry for entry in found if not LEFT_ALONE.search(entry.name)]
    try:
        archive = zipfile.ZipFile(source if isinstance(source, Path) else io.BytesIO(source))
    except (zipfile.BadZipFile, OSError) as error:
        raise Refused([Problem("File", "is no folder and no ZIP that can be read.")]) from error
    return list(_in_zip(archive))


def _in_zip(archive: zipfile.ZipFile) -> Iterator[Entry]:
    parts = [
        part
        for part in sorted(archive.infolist(), key=lambda part: part.filename)
        if not part.is_dir() and not LEFT_ALONE.search(part.filename)
    ]
    if sum(part.file_size for part in parts) > MOST_BYTES:
        words = f"unpacks to more than {MOST_BYTES // 1024**2} MB. Divide it."
        raise Refused([Problem("File", words)])
    problems = []
    for part in parts:
        if part.flag_bits & 1:
            problems.append(Problem(part.filename, "is encrypted. Pack it without a password."))
        elif stat.S_ISLNK(part.external_attr >> 16):
            problems.append(Problem(part.filename, "is a link, not a file. Pack the file itself."))
    if problems:
        raise Refused(problems)

    def loader(part: zipfile.ZipInfo) -> Callable[[], bytes]:
        def load() -> bytes:
            try:
                return archive.read(part)
            except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
                words = "cannot be unpacked. Pack the ZIP again."
                raise Refused([Problem(part.filename, words)]) from error

        return load

    for part in parts:
        yield Entry(part.filename.replace("\\", "/"), loader(part))


def plan_raw_files(source: Path | bytes, item: Object | None = None) -> RawFilesPlan:
    """Check a folder or ZIP against the records; raises Refused when it cannot be opened."""
    return RawFilesPlan(entries_in(source), item)


def import_raw_files(
    source: Path | bytes, item: Object | None = None, *, user: User, why: str
) -> RawFilesPlan:
    """Keep a batch, all or nothing, as one change; raises Refused with every problem."""
    stored: list[str] = []
    try:
        with change(user=user, why=why):
            with connection.cursor() as cursor:  # imports go one after the other
                cursor.execute("SELECT pg_advisory_xact_lock(hashtext('import_raw_files'))")
            plan = plan_raw_files(source, item)
            if plan.problems:
                raise Refused(plan.problems)
            new: list[Analysis] = []
            joined: list[Analysis] = []
            for file in plan.files:
                if file.deed == "kept":
                    continue
                analysis = file.analysis or _new_analysis(file)
                (joined if file.analysis else new).append(analysis)
                file.analysis = analysis
                _keep(file, analysis, stored)
            Analysis.objects.bulk_create(new)
            changed = ["raw_file", "raw_sha256", "settings", "reference_for", "updated_at"]
            Analysis.objects.bulk_update(joined, changed)
    except BaseException:
        for name in stored:  # nothing half-written remains
            default_storage.delete(name)
        raise
    return plan


def _new_analysis(file: Arrival) -> Analysis:
    values = file.row.values
    analysis = Analysis(technique=file.technique)
    match file.target:
        case Layer():
            analysis.layer = file.target
        case Sample():
            analysis.sample = file.target
        case SamplingPoint():
            analysis.point = file.target
    for name in ("date", "instrument", "note"):
        setattr(analysis, name, values.get(name, ""))
    return analysis


def _keep(file: Arrival, analysis: Analysis, stored: list[str]) -> None:
    """Store the bytes, untouched, and say with the analysis what they are."""
    analysis.raw_sha256 = file.sha256
    analysis.updated_at = timezone.now()
    chosen = file.choice.to_settings() if file.choice else {}
    analysis.reference_for = file.reference_for or analysis.reference_for
    analysis.settings = {**analysis.settings, FILE: file.name, READ_AS: file.read_as, **chosen}
    wanted = RAW_FILE.generate_filename(analysis, PurePosixPath(file.name).name)
    name = default_storage.get_available_name(wanted, max_length=RAW_FILE.max_length)
    stored.append(name)  # before it is written, so that a part of it would be found
    analysis.raw_file = default_storage.save(name, ContentFile(file.entry.load()))


def brought_by(change_key: UUID) -> list[Analysis]:
    """The analyses that an import made or gave their file, by name of file; one query each."""
    versions: Any = Analysis.versions.rel.related_model  # type: ignore[attr-defined]
    keys = versions.objects.filter(pgh_context_id=change_key).values("pgh_obj_id")
    found = Analysis.objects.filter(pk__in=keys).exclude(raw_file="").select_related(*TARGETS)
    return sorted(found, key=lambda analysis: str(analysis.settings.get(FILE, "")))


def change_of(plan: RawFilesPlan) -> UUID:
    """The key of the change that an import was, for its report."""
    keys = [file.analysis.pk for file in plan.files if file.analysis and file.deed != "kept"]
    versions: Any = Analysis.versions.rel.related_model  # type: ignore[attr-defined]
    latest = versions.objects.filter(pgh_obj_id__in=keys).latest("pgh_id")
    key: UUID = latest.pgh_context_id
    return key
