"""Mosaics: laid out, watched while they are made, read with what is left in their overlaps."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.safestring import mark_safe

from records import mosaics
from records.access import Access, require
from records.choices import FrameRole, MosaicStage
from records.forms.mosaics import MosaicForm
from records.imaging.mosaic.frames import FrameError, small
from records.imaging.mosaic.report import COLOURS, WORDS, step_of
from records.models import Examination, Mosaic, MosaicFrame
from records.views.base import ChangeRecord, NewRecord, RecordPage, closed

WORST = 12
SMALL_PX = 320


class MosaicPage(RecordPage):
    model = Mosaic
    template = "records/mosaic.html"

    def records(self) -> QuerySet[Any]:
        return Mosaic.objects.select_related(
            "examination__campaign__object", "examination__technique", "result"
        )

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        response = super().get(request, pk)
        stage = Mosaic.objects.values_list("stage", flat=True).get(pk=pk)
        if request.headers.get("HX-Request") and stage not in mosaics.WORKING:
            response["HX-Refresh"] = "true"  # what was watched is done: the whole page is new
        return response

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        """Begin, or go on after something went wrong; first leave out a file that was refused."""
        require(request, "writes_records")
        item = get_object_or_404(Mosaic, pk=pk)
        step = request.POST.get("leave_out", "")
        if words := closed(item):
            messages.error(request, words)
        elif step.isdigit():
            mosaics.leave_out(item, int(step))
            messages.success(request, "The file is left out. Join again to go on without it.")
        else:
            mosaics.begin(item)
            messages.success(request, "The frames are being joined. You may leave this page.")
        return redirect(item)

    def gather(self, record: Mosaic) -> dict[str, Any]:
        frames = list(record.frames.filter(withdrawn_at=None).select_related("image"))
        done, total = mosaics.progress(record)
        given = [frame for frame in frames if frame.role == FrameRole.FRAME]
        return {
            "frames": given,
            "waiting": record.steps.filter(stage=MosaicStage.FETCHING, done_at=None).count(),
            "refused": mosaics.refused(record),
            "fields": [frame for frame in frames if frame.role != FrameRole.FRAME],
            "unplaced": [frame for frame in given if frame.unplaced_why],
            "working": record.stage in mosaics.WORKING,
            "stages": _stages(record, done, total),
            "map": mark_safe(mosaics.map_of(record)),
            "legend": list(zip(COLOURS, WORDS, strict=True)),
            **_told(record),
        }


def _stages(record: Mosaic, done: int, total: int) -> list[dict[str, Any]]:
    """The stages of the work, each with what is done of it."""
    if record.stage not in mosaics.WORKING:
        return []
    fetched = record.steps.filter(stage=MosaicStage.FETCHING).exists()
    stages = [s for s in mosaics.WORKING if fetched or s != MosaicStage.FETCHING]
    at = stages.index(MosaicStage(record.stage))
    told = []
    for k, stage in enumerate(stages):
        share = (done, total) if k == at else (1, 1) if k < at else (0, 1)
        told.append({"stage": stage, "done": share[0], "total": share[1], "now": k == at})
    return told


def _told(record: Mosaic) -> dict[str, Any]:
    """The report as the page shows it: figures, the worst overlaps, those set aside."""
    report = record.report
    if not report:
        return {}
    names = [frame["name"] for frame in report["frames"]]
    overlaps = [
        overlap
        | {
            "names": (names[overlap["first"]], names[overlap["second"]]),
            "step": step_of(overlap["rms_px"]),
        }
        for overlap in report["overlaps"]
    ]
    used = [overlap for overlap in overlaps if overlap["used"]]
    counts = [sum(overlap["step"] == k for overlap in used) for k in range(len(WORDS))]
    return {
        "report": report,
        "placed_count": sum(1 for frame in report["frames"] if frame["place"]),
        "used_count": len(used),
        "bare_percent": 100 * (1 - report.get("covered", 1)),
        "worst": sorted(used, key=lambda overlap: -overlap["rms_px"])[:WORST],
        "aside": [overlap for overlap in overlaps if not overlap["used"]],
        "steps": list(zip(COLOURS, WORDS, counts, strict=True)),
    }


class MosaicReport(Access):
    """Everything that was worked out of a mosaic, as JSON."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Mosaic, pk=pk)
        response = JsonResponse(item.report or {}, json_dumps_params={"indent": 1})
        response["Content-Disposition"] = f'attachment; filename="mosaic-{item.pk}.json"'
        return response


class FrameSmall(Access):
    """A small picture of a frame: those kept for the mosaic alone have no tiles."""

    def get(self, request: HttpRequest, pk: int, frame: int) -> HttpResponse:
        found = get_object_or_404(MosaicFrame.objects.select_related("image"), pk=frame, mosaic=pk)
        try:
            with mosaics.path_of(found) as path:
                content = small(path, SMALL_PX)
        except (FrameError, FileNotFoundError) as error:
            raise Http404("There is no picture of this frame.") from error
        response = HttpResponse(content, content_type="image/jpeg")
        response["Cache-Control"] = "private, max-age=3600"
        return response


class NewMosaic(NewRecord):
    form_class = MosaicForm
    parent, link = Examination, "examination"


class ChangeMosaic(ChangeRecord):
    form_class = MosaicForm
