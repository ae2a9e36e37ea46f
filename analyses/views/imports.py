"""Importing samples, results and raw files by page, in the steps of `records.views.imports`."""

import csv
import io
from typing import Any
from uuid import UUID

import openpyxl
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header

from analyses.batch import Outcome, ask_for_all, open_to_evaluation, outcomes
from analyses.forms.imports import RawFilesForm, ResultsForm
from analyses.imports import (
    import_raw_files,
    import_results,
    plan_raw_files,
    plan_results,
    raw_files,
)
from analyses.imports.columns import COLUMNS
from analyses.imports.results import EXAMPLE
from analyses.models import Analysis
from analyses.models.results import READ_AS
from records.access import Access, signed_in
from records.models import Object
from records.trail import Crumb
from records.views.base import frame
from records.views.imports import ImportPage

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class ResultsImport(ImportPage):
    needs = "writes_analyses"
    form_class = ResultsForm
    heading = "Import samples and results"
    guide = "import-results-guide"
    room = "object-laboratory"

    def plan(self, data: bytes, form: Any) -> Any:
        return plan_results(data, form.item)

    def write(self, data: bytes, form: Any) -> Any:
        return import_results(data, form.item, user=form.user, why=form.cleaned_data["why"])


class ResultsGuide(Access):
    """How a table of results is written: its columns, and an example."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest) -> HttpResponse:
        context = {"columns": COLUMNS, "nav": "import"}
        return render(request, "analyses/imports/results_guide.html", context)


class ResultsExample(Access):
    """The example as CSV, or the same rows as a workbook."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest, form: str) -> HttpResponseBase:
        data = EXAMPLE.read_bytes()
        kind = "text/csv; charset=utf-8"
        if form == "xlsx":
            data, kind = _workbook(data.decode("utf-8-sig")), XLSX
        response = HttpResponse(data, content_type=kind)
        name = content_disposition_header(True, f"results-example.{form}")
        response["Content-Disposition"] = name or "attachment"
        return response


def _workbook(table: str) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in csv.reader(io.StringIO(table), delimiter=";"):
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


class RawFilesImport(ImportPage):
    needs = "writes_analyses"
    form_class = RawFilesForm
    heading = "Import raw files"
    guide = "import-raw-files-guide"
    room = "object-laboratory"
    confirmation = "analyses/imports/raw_files_confirm.html"

    def plan(self, data: bytes, form: Any) -> Any:
        return plan_raw_files(data, form.item)

    def write(self, data: bytes, form: Any) -> Any:
        return import_raw_files(data, form.item, user=form.user, why=form.cleaned_data["why"])

    def after(self, item: Object, plan: Any) -> str:
        return reverse("import-raw-files-report", args=[item.pk, raw_files.change_of(plan)])


class RawFilesReport(Access):
    """What one import of raw files brought: every file, what it was read as and what was found.

    All of them can be evaluated at once, with the usual settings.
    """

    needs = "writes_analyses"

    def get(self, request: HttpRequest, pk: int, change: UUID) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        found = self._brought(item, change)
        known = outcomes(found)
        rows = [(a, a.settings.get(READ_AS, ""), known.get(a.pk)) for a in found]
        if request.GET.get("as") == "csv":
            return _report_as_csv(rows)
        context = frame(request, item) | {
            "nav": "import",
            "title": f"Raw files imported: {len(rows)}",
            "rows": rows,
            "open": len(open_to_evaluation(found)),
            "waiting": sum(outcome.waits for outcome in known.values()),
        }
        context["crumbs"] = [*context["crumbs"], Crumb("Raw files imported", request.path)]
        return render(request, "analyses/imports/raw_files_report.html", context)

    def post(self, request: HttpRequest, pk: int, change: UUID) -> HttpResponse:
        count = ask_for_all(
            self._brought(get_object_or_404(Object, pk=pk), change), signed_in(request)
        )
        files = "One file waits" if count == 1 else f"{count} files wait"
        messages.success(request, f"{files} to be evaluated. What is found stands here.")
        return redirect(request.path)

    def _brought(self, item: Object, change: UUID) -> list[Analysis]:
        found = [a for a in raw_files.brought_by(change) if a.at_point.face.object_id == item.pk]
        if not found:
            raise Http404("No raw files came by that change.")
        return found


def _report_as_csv(rows: list[tuple[Analysis, str, Outcome | None]]) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="raw-files.csv"'
    response.write("\ufeff")
    table = csv.writer(response)
    table.writerow(["file", "read as", "place", "technique", "SHA-256", "analysis", "found"])
    for analysis, read_as, outcome in rows:
        table.writerow(
            [analysis.file_name, read_as, analysis.target, analysis.technique, analysis.raw_sha256,
             analysis.pk, outcome or "not evaluated"]
        )  # fmt: skip
    return response


class RawFilesGuide(Access):
    """How raw files are named or listed."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest) -> HttpResponse:
        context = {"columns": raw_files.COLUMNS, "nav": "import"}
        return render(request, "analyses/imports/raw_files_guide.html", context)
