"""What the records hold already of the things that a table names, each by its natural key.

Keys are built alike for what is kept and for what a row says, so that the two can be compared:
a point by face and number, a sample and a preparation by their number, a layer by preparation and
number, an analysis by target, technique and date, a reading by analysis and what was read, an
identification by target and material.
"""

from collections.abc import Hashable, Iterable
from typing import Any

from django.db.models import Model, Q

from analyses.imports.columns import Level
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
from records.models import Face, Material, Object, Technique

Key = Hashable


class Known:
    """Faces, techniques and materials by every name, and the records that the rows speak of.

    A fixed number of queries however many rows.
    """

    def __init__(self, item: Object, rows: Iterable[Row]) -> None:
        self.faces = {
            f.name.casefold(): f for f in Face.objects.filter(object=item, withdrawn_at=None)
        }
        self.techniques = words_for(Technique, "code", "abbreviation", "label")
        self.materials = words_for(Material, "code", "label")
        self.records: dict[Level, dict[Key, Any]] = {level: {} for level in Level}
        self.parents: dict[Level, dict[Key, Key]] = {level: {} for level in Level}
        self.ties: set[tuple[int, int]] = set()
        self._gather(list(rows))

    def _gather(self, rows: list[Row]) -> None:
        def named(column: str) -> set[Any]:
            return {row.values[column] for row in rows if column in row.values}

        keys: dict[tuple[str, int], Key] = {}  # what each kept target is called here

        def keep(level: Level, record: Any, key: Key, parent: Key = None) -> None:
            self.records[level][key] = record
            self.parents[level][key] = parent
            keys[level.name.lower(), record.pk] = key

        points = SamplingPoint.objects.filter(
            face__in=self.faces.values(), number__in=named("point")
        )
        for point in points:
            keep(Level.POINT, point, (point.face_id, point.number))
        samples = Sample.objects.filter(number__in=named("sample")).select_related("point__face")
        for sample in samples:
            taken_at = (sample.point.face_id, sample.point.number)
            keep(Level.SAMPLE, sample, sample.number, taken_at)
        preparations = Preparation.objects.filter(number__in=named("preparation"))
        for preparation in preparations.select_related("sample"):
            keep(Level.PREPARATION, preparation, preparation.number, preparation.sample.number)
        layers = Layer.objects.filter(
            preparation__number__in=named("preparation"), withdrawn_at=None
        ).select_related("preparation")
        for layer in layers:
            number = layer.preparation.number
            keep(Level.LAYER, layer, (number, layer.number), number)

        def of_targets(model: type[Model]) -> Any:
            return model._default_manager.filter(
                Q(point__in=[p.pk for p in self.records[Level.POINT].values()])
                | Q(sample__in=[s.pk for s in self.records[Level.SAMPLE].values()])
                | Q(layer__in=[y.pk for y in self.records[Level.LAYER].values()]),
                withdrawn_at=None,
            )

        def target(record: Any) -> Key:
            for level in (Level.LAYER, Level.SAMPLE, Level.POINT):
                name = level.name.lower()
                if (pk := getattr(record, f"{name}_id")) is not None:
                    return level, keys[name, pk]
            raise ValueError(f"{record!r} has no target.")

        for analysis in of_targets(Analysis).order_by("-pk"):
            at = target(analysis)
            keep(Level.ANALYSIS, analysis, (at, analysis.technique_id, analysis.date), at)
        readings = Reading.objects.filter(
            analysis__in=[a.pk for a in self.records[Level.ANALYSIS].values()], withdrawn_at=None
        )
        for reading in readings:
            of = keys["analysis", reading.analysis_id]
            told = (reading.kind, reading.label, reading.value, reading.unit)
            keep(Level.READING, reading, (of, *told), of)
        for identification in of_targets(Identification).order_by("-pk"):
            at = target(identification)
            keep(Level.IDENTIFICATION, identification, (at, identification.material_id), at)
        self.ties = set(
            IdentificationReading.objects.filter(
                identification__in=[r.pk for r in self.records[Level.IDENTIFICATION].values()]
            ).values_list("identification_id", "reading_id")
        )


def words_for(model: type[Any], *names: str) -> dict[str, Any]:
    """Standing terms by every word they go by, in small letters; the names given first go first."""
    terms = list(model._default_manager.filter(withdrawn_at=None))
    words: dict[str, Any] = {}
    for name in names:
        for term in terms:
            words.setdefault(getattr(term, name).casefold(), term)
    for term in terms:
        for translation in term.translations.values():
            words.setdefault(translation.get("label", "").casefold(), term)
        for identifier in term.identifiers:
            words.setdefault(identifier.get("code", "").casefold(), term)
    words.pop("", None)
    return words
