"""Pages of analyses with their readings and raw data, and of identifications and their decision."""

from typing import Any, ClassVar

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from analyses.curves import CurveError, curve_of, has_curve, in_words, table_of, unclear
from analyses.forms.columns import ColumnsForm, LookForm
from analyses.forms.results import AnalysisForm, DecisionForm, IdentificationForm, ReadingForm
from analyses.models import Analysis, Identification, Layer, Sample, SamplingPoint
from analyses.spectra.readers import IN_SETTINGS, ColumnChoice
from analyses.spectra.readers.columns import FORMAT as COLUMNS_OF_TEXT
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
            "technique", "campaign", "operator", "signed_by", "reference_for", *TARGETS
        )

    def gather(self, record: Analysis) -> dict[str, Any]:
        found = Identification.objects.filter(STANDING, readings__analysis=record)
        return (
            shown(self.request, record)
            | raw_data(record)
            | {
                "at": record.at_point,
                "settings": {k: v for k, v in record.settings.items() if k not in IN_SETTINGS},
                "element_lines": record.technique.code in ("xrf", "sem_edx"),
                "readings": record.readings.all(),
                "identifications": found.select_related("material").distinct(),
            }
        )


def raw_data(analysis: Analysis) -> dict[str, Any]:
    """What the raw file was read as, by which columns; or why it cannot be read."""
    if not has_curve(analysis):
        return {}
    try:
        curve = curve_of(analysis)
    except CurveError as error:
        return {"trouble": str(error), "choose": error.choose}
    choice = ColumnChoice.from_settings(analysis.settings)
    return {
        "curve": curve,
        "trouble": unclear(analysis.technique, curve),
        "read_as": in_words(curve),
        "choose": curve.format == COLUMNS_OF_TEXT,
        "columns": choice and choice.told,
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


class ThenColumns:
    """Mixin: where a new raw file is a table that is no clear curve yet, choose its columns."""

    def next_address(self, form: Any) -> str:
        analysis: Analysis = form.instance
        if "raw_file" in form.changed_data and has_curve(analysis):
            found = raw_data(analysis)
            if found.get("trouble") and found["choose"]:
                return reverse("analysis-columns", args=[analysis.pk])
        return analysis.get_absolute_url()


class NewAnalysisOfPoint(ThenColumns, NewRecord):
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


class ChangeAnalysis(ThenColumns, ChangeRecord):
    form_class = AnalysisForm


class ChooseColumns(ChangeRecord):
    """Which columns of a raw file that is a table of numbers are its curve."""

    form_class = ColumnsForm
    template = "analyses/columns.html"
    crumb = "Columns"

    def title(self, record: Any) -> str:
        return f"Columns of {record}"

    def around(self, form: Any) -> dict[str, Any]:
        table = form.table
        return {
            "look": LookForm(
                initial={"separator": form.look.separator, "decimal": form.look.decimal}
            ),
            "columns": table and (table.headings or [""] * table.columns),
            "reason": "" if form.is_bound else raw_data(form.instance).get("trouble"),
        }

    def _refused(self, request: HttpRequest, record: Any) -> HttpResponse | None:
        if refused := super()._refused(request, record):
            return refused
        try:
            if table_of(record) is not None:
                return None
            words = "There is nothing to choose: the format of the file names its axes itself."
        except CurveError as error:
            if record.raw_file:
                return None  # told on the page, where the cells can be divided otherwise
            words = str(error)
        messages.info(request, words)
        return redirect(record)


class ChangeReading(ChangeRecord):
    form_class = ReadingForm


class ChangeIdentification(ChangeRecord):
    form_class = IdentificationForm


class Decide(ChangeRecord):
    """Accept, reject or leave undecided, under one's name."""

    form_class = DecisionForm

    def title(self, record: Any) -> str:
        return "Decide"
