"""Everything that goes back to one sample, from its point down to what people conclude."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Q

from analyses.models import Analysis, Identification, Layer, Reading, Sample
from records.templatetags.records import edtf_short

STANDING = Q(withdrawn_at__isnull=True)


@dataclass(slots=True)
class Branch:
    """One record: what it is, its name and address, a few words, and what hangs on it."""

    kind: str
    name: str
    address: str
    words: str = ""
    decision: str = ""
    below: list["Branch"] = field(default_factory=list)


def tree_of(sample: Sample) -> Branch:
    """Point, sample, preparations, layers, analyses, readings, identifications; six queries.

    Analyses of the point itself saw more than the sample; they stand before it.
    """
    layers = list(
        Layer.objects.filter(STANDING, preparation__sample=sample).order_by("preparation", "number")
    )
    here = Q(point=sample.point) | Q(sample=sample) | Q(layer__in=layers)
    analyses = list(Analysis.objects.filter(STANDING & here).select_related("technique"))
    readings: dict[int, list[Reading]] = defaultdict(list)
    for reading in Reading.objects.filter(STANDING, analysis__in=analyses).order_by("pk"):
        readings[reading.analysis_id].append(reading)
    found = Identification.objects.filter(STANDING & here).select_related("material")
    found = found.prefetch_related("readings")
    hung: dict[tuple[int | None, ...], list[Branch]] = defaultdict(list)
    for analysis in analyses:
        hung[_at(analysis)].append(_analysis(analysis, readings[analysis.pk]))
    for identification in found:
        hung[_at(identification)].append(_identification(identification))

    top = Branch("Sampling point", str(sample.point), sample.point.get_absolute_url())
    own = Branch("Sample", str(sample), sample.get_absolute_url(), sample.amount)
    top.below = [*hung[sample.point_id, None, None], own]
    own.below = hung[None, sample.pk, None]
    for preparation in sample.preparations.filter(STANDING):
        stack = [layer for layer in layers if layer.preparation_id == preparation.pk]
        kind = preparation.get_kind_display()
        branch = Branch(kind, str(preparation), preparation.get_absolute_url())
        branch.below = [
            Branch(
                f"Layer {layer.number}",
                layer.description,
                layer.get_absolute_url(),
                below=hung[None, None, layer.pk],
            )
            for layer in stack
        ]
        own.below.append(branch)
    return top


def _at(record: Analysis | Identification) -> tuple[int | None, ...]:
    return record.point_id, record.sample_id, record.layer_id


def _analysis(analysis: Analysis, readings: Iterable[Reading]) -> Branch:
    return Branch(
        "Analysis",
        str(analysis.technique),
        analysis.get_absolute_url(),
        ", ".join(filter(None, (edtf_short(analysis.date), analysis.file_name))),
        below=[
            Branch(
                reading.get_kind_display(),
                reading.label,
                f"{analysis.get_absolute_url()}#reading-{reading.pk}",
                _words(reading),
            )
            for reading in readings
        ],
    )


def _words(reading: Reading) -> str:
    amount = reading.get_amount_display() if reading.amount else ""
    return ", ".join(filter(None, (reading.measured, amount, reading.certainty)))


def _identification(identification: Identification) -> Branch:
    rests = ", ".join(dict.fromkeys(reading.label for reading in identification.readings.all()))
    return Branch(
        "Identification",
        str(identification.material),
        identification.get_absolute_url(),
        f"rests on {rests}" if rests else "",
        identification.decision,
    )
