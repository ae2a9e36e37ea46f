"""Pages of analyses with their readings and raw data, and of identifications and their decision."""

from typing import Any, ClassVar

from django.db.models import Q, QuerySet

from analyses.forms.results import AnalysisForm, DecisionForm, IdentificationForm, ReadingForm
from analyses.models import Analysis, Identification, Layer, Sample, SamplingPoint
from analyses.views.evaluations import shown
from records.models import Record
from records.views.base import ChangeRecord, NewRecord, RecordPage
from records.views.files import KeptFile

STANDING = Q(withdrawn_at__isnull=True)
TARGETS = (
    "point__face__object",
    "sample__point__face__object",
    "layer__preparation__sample__point__face__object",
)


class AnalysisPage(RecordPage):
    model = Analysis
    template = "analyses/analysis.html"

    def records(self) -> QuerySet[Any]:
        return Analysis.objects.select_related(
            "technique", "campaign", "operator", "signed_by", *TARGETS
        )

    def gather(self, record: Analysis) -> dict[str, Any]:
        found = Identification.objects.filter(STANDING, readings__analysis=record)
        return shown(self.request, record) | {
            "element_lines": record.technique.code in ("xrf", "sem_edx"),
            "readings": record.readings.all(),
            "identifications": found.select_related("material").distinct(),
        }


class RawFile(KeptFile):
    """The raw data of an analysis as it was kept."""

    model = Analysis
    field = "raw_file"


class IdentificationPage(RecordPage):
    model = Identification
    template = "analyses/identification.html"

    def records(self) -> QuerySet[Any]:
        return Identification.objects.select_related(
            "material", "trace__kind", "decided_by", "signed_by", *TARGETS
        )

    def gather(self, record: Identification) -> dict[str, Any]:
        readings = record.readings.select_related("analysis__technique")
        return {"readings": readings, "dates": record.material.dates.filter(STANDING)}


class NewAnalysisOfPoint(NewRecord):
    form_class = AnalysisForm
    parent: ClassVar[type[Record] | None] = SamplingPoint
    link = "point"


class NewAnalysisOfSample(NewAnalysisOfPoint):
    parent, link = Sample, "sample"


class NewAnalysisOfLayer(NewAnalysisOfPoint):
    parent, link = Layer, "layer"


class NewReading(NewRecord):
    form_class = ReadingForm
    parent, link = Analysis, "analysis"


class NewIdentificationAtPoint(NewRecord):
    form_class = IdentificationForm
    parent: ClassVar[type[Record] | None] = SamplingPoint
    link = "point"

    def title(self, record: Any) -> str:
        return "Propose an identification"


class NewIdentificationInSample(NewIdentificationAtPoint):
    parent, link = Sample, "sample"


class NewIdentificationInLayer(NewIdentificationAtPoint):
    parent, link = Layer, "layer"


class ChangeAnalysis(ChangeRecord):
    form_class = AnalysisForm


class ChangeReading(ChangeRecord):
    form_class = ReadingForm


class ChangeIdentification(ChangeRecord):
    form_class = IdentificationForm


class Decide(ChangeRecord):
    """Accept, reject or leave undecided, under one's name."""

    form_class = DecisionForm

    def title(self, record: Any) -> str:
        return "Decide"
