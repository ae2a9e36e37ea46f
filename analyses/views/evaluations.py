"""Evaluations of raw files: asking for one, watching it, taking readings from it, drawing it."""

from itertools import pairwise
from typing import Any

import numpy as np
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from analyses import evaluating
from analyses.curves import CurveError, curve_of, with_curves
from analyses.figures import axis, figure
from analyses.forms.evaluations import form_for
from analyses.models import Analysis, Evaluation
from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.xray import lines_of
from records.access import Access, signed_in
from records.models import Object
from records.views.base import frame

MOST_POINTS = 4000  # drawn at once; the least and the greatest of every stretch are kept
TARGETS = ("point__face", "sample__point__face", "layer__preparation__sample__point__face")
DIGITS = {Axis.ENERGY: 3, Axis.TWO_THETA: 2, Axis.SPACING: 3, Axis.WAVENUMBER: 0}  # of places
FORMATS = {"svg": "image/svg+xml", "pdf": "application/pdf"}


def latest(analysis: Analysis) -> Evaluation | None:
    return analysis.evaluations.first()


def shown(request: HttpRequest, analysis: Analysis, form: Any = None) -> dict[str, Any]:
    """What the part of an analysis's page about its evaluation needs."""
    if not evaluating.can_be_evaluated(analysis):
        return {}
    evaluation = latest(analysis)
    return {
        "record": analysis,
        "evaluation": evaluation,
        "evaluation_form": form or form_for(analysis),
        "taken": evaluating.codes_taken(evaluation) if evaluation else set(),
        "digits": DIGITS.get(((evaluation and evaluation.result) or {}).get("x_unit", ""), 2),
        "may_evaluate": signed_in(request).writes_analyses
        and not analysis.signed_at
        and not analysis.is_withdrawn,
    }


class Evaluate(Access):
    """The evaluation of one analysis: shown while it is made, asked for anew."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        analysis = get_object_or_404(Analysis.objects.select_related("technique"), pk=pk)
        return render(request, "analyses/evaluation.html", shown(request, analysis))


class AskForEvaluation(Access):
    needs = "writes_analyses"

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        analysis = get_object_or_404(Analysis.objects.select_related("technique"), pk=pk)
        if not evaluating.can_be_evaluated(analysis):
            messages.error(request, "There is nothing to evaluate: add a raw file first.")
            return redirect(analysis)
        form = form_for(analysis, request.POST)
        if not form.is_valid():
            context = frame(request, analysis) | shown(request, analysis, form)
            return render(request, "analyses/evaluation_page.html", context, status=422)
        evaluating.ask(analysis, form.given(), signed_in(request))
        return redirect(f"{analysis.get_absolute_url()}#evaluation")


class TakeReadings(Access):
    """Readings from the findings that a person ticks."""

    needs = "writes_analyses"

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        evaluation = get_object_or_404(
            Evaluation.objects.select_related("analysis__technique"), pk=pk
        )
        made = evaluating.take(evaluation, request.POST.getlist("finding"), signed_in(request))
        if made:
            messages.success(request, f"{len(made)} readings taken.")
        else:
            messages.info(request, "Nothing was taken: tick findings that are not readings yet.")
        return redirect(f"{evaluation.analysis.get_absolute_url()}#readings")


class SpectrumData(Access):
    """A raw file as numbers to draw, with the marks of the latest evaluation."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponseBase:
        analysis = get_object_or_404(
            Analysis.objects.select_related("technique", "reference_for", *TARGETS), pk=pk
        )
        try:
            curve = curve_of(analysis)
        except CurveError as error:
            return JsonResponse({"error": str(error)}, status=422)
        return JsonResponse(drawn(analysis, curve))


def drawn(analysis: Analysis, curve: Curve) -> dict[str, Any]:
    """Few enough points to draw, the background found under them, and the places that were named.

    What was found in another raw file than the one kept now is left out.
    """
    x, y = thinned(curve.x, curve.y)
    evaluation = latest(analysis)
    result: dict[str, Any] = {}
    if evaluation and evaluation.result and evaluation.raw_sha256 == analysis.raw_sha256:
        result = evaluation.result
    under = result.get("background") or []
    reference = analysis.reference_for
    return {
        "name": str(analysis),
        "technique": str(analysis.technique),
        "of": f"Reference: {reference.label.lower()}" if reference else str(analysis.target),
        "address": analysis.get_absolute_url(),
        "place": str(analysis.at_point),
        "surface": on_surface(analysis),
        "x": [round(float(v), 5) for v in x],
        "y": [round(float(v), 5) for v in y],
        "x_unit": curve.x_unit,
        "x_axis": axis(curve.x_unit),
        "y_unit": curve.y_unit,
        "reversed": analysis.technique.code == "ftir",
        "background": {
            "x": [round(float(v), 5) for v in curve.x[:: evaluating.every(len(curve.x))]],
            "y": under,
        }
        if under
        else None,
        "findings": [
            {
                "code": finding["code"],
                "certainty": finding["certainty"],
                "marks": [
                    {key: mark[key] for key in ("x", "label", "height", "agrees")}
                    | {"word": _word(finding, mark)}
                    for mark in finding["marks"]
                ],
            }
            for finding in result.get("findings", [])
        ],
        "unexplained": [{"x": mark["x"]} for mark in result.get("unexplained", [])],
    }


def _word(finding: dict[str, Any], mark: dict[str, Any]) -> str:
    """What stands beside a place on a curve: 'Pb Lα', 'calcite 3.03 Å', '1736 drying oil'."""
    code = finding["code"].replace("_", " ")
    if finding["kind"] == "element":
        return str(mark["label"])
    if finding["kind"] == "phase":
        return f"{code} {mark['note'].removeprefix('d = ').split(',')[0]}"
    return f"{mark['x']:.0f} {code}"


def on_surface(analysis: Analysis) -> str:
    """The address of the surface with the sampling point of an analysis lit up."""
    point = analysis.at_point
    surface = reverse("object-surface", args=[point.face.object_id])
    return f"{surface}?face={point.face_id}&point={point.pk}"


def thinned(x: Array, y: Array, most: int = MOST_POINTS) -> tuple[Array, Array]:
    """The least and the greatest value of every stretch, so that no peak is lost; (n,) each."""
    if len(x) <= most:
        return x, y
    edges = np.linspace(0, len(x), most // 2 + 1).astype(int)
    kept = sorted(
        {
            int(start + step)
            for start, end in pairwise(edges)
            for step in (y[start:end].argmin(), y[start:end].argmax())
        }
    )
    return x[kept], y[kept]


class LinesOfElement(Access):
    """X-ray lines of an element, to draw on a spectrum."""

    def get(self, request: HttpRequest, symbol: str) -> HttpResponseBase:
        try:
            lines = lines_of(symbol)
        except ValueError as error:
            return JsonResponse({"error": str(error)}, status=404)
        rows = [{"x": line.energy_kev, "label": f"{symbol} {line.name}"} for line in lines]
        return JsonResponse({"lines": rows})


class Figure(Access):
    """A figure for print: one analysis with its marks, or several above each other."""

    def get(self, request: HttpRequest, pk: int, form: str) -> HttpResponseBase:
        if form not in FORMATS:
            raise Http404(f"Figures are made as {' or '.join(FORMATS)}.")
        wanted = [pk, *(int(n) for n in request.GET.getlist("with") if n.isdigit())]
        found = Analysis.objects.select_related("technique", "reference_for", *TARGETS).in_bulk(
            wanted
        )
        if pk not in found:
            raise Http404("There is no such analysis.")
        try:
            curves = [drawn(found[n], curve_of(found[n])) for n in wanted if n in found]
        except CurveError as error:
            return HttpResponse(str(error), status=422, content_type="text/plain; charset=utf-8")
        answer = HttpResponse(figure(curves, form), content_type=FORMATS[form])
        answer["Content-Disposition"] = f'attachment; filename="analysis-{pk}.{form}"'
        return answer


class CompareSpectra(Access):
    """Curves of an object over each other, all of one technique, and over references."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        own = with_curves(Analysis.objects.of_object(item)).select_related("technique", *TARGETS)
        codes = {one.technique.code: one.technique.label for one in own}
        code = request.GET.get("technique", "")
        if code not in codes:
            code = next(iter(codes), "")
        offered = [one for one in own if one.technique.code == code]
        references = (
            with_curves(Analysis.objects.filter(reference_for__isnull=False, technique__code=code))
            .exclude(pk__in=[one.pk for one in offered])
            .select_related("reference_for")
            .order_by("reference_for__label", "pk")
        )
        asked = {int(n) for n in request.GET.getlist("analysis") if n.isdigit()}
        chosen = [one.pk for one in (*offered, *references) if one.pk in asked]
        context = frame(request, item) | {
            "room": "laboratory",
            "techniques": codes,
            "technique": code,
            "offered": offered,
            "references": references,
            "chosen": chosen,
            "figures": [("svg", "Figure as SVG"), ("pdf", "Figure as PDF")],
            "addresses": [reverse("analysis-spectrum", args=[one]) for one in chosen],
        }
        return render(request, "analyses/compare_spectra.html", context)
