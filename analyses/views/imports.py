"""Importing samples and results by page; the steps are those of `records.views.imports`."""

import csv
import io
from typing import Any

import openpyxl
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.http import content_disposition_header

from analyses.forms.imports import ResultsForm
from analyses.imports import import_results, plan_results
from analyses.imports.columns import COLUMNS
from analyses.imports.results import EXAMPLE
from records.access import Access
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
