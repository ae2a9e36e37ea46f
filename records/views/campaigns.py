"""Campaigns, their examinations with information sheets, and what these covered."""

from collections.abc import Iterable
from typing import Any

from django.contrib import messages
from django.db.models import Count, Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe

from records.access import Access, signed_in
from records.coverage import CoveredFace, covered_faces, faces_not_told
from records.forms.campaigns import CampaignForm, CoverageForm, ExaminationForm
from records.models import Campaign, Examination, Face, Object, Technique
from records.plan import draw_plan
from records.views.base import ChangeRecord, EntryPage, NewRecord, RecordPage
from records.views.surface import pictures_on
from records.vocabulary.settings import tell

STANDING = Q(withdrawn_at__isnull=True)
PLAN_MM = (88.0, 80.0)


class CampaignPage(RecordPage):
    model = Campaign
    template = "records/campaign.html"

    def records(self) -> QuerySet[Any]:
        return Campaign.objects.select_related("object", "parent").prefetch_related("people")

    def gather(self, record: Campaign) -> dict[str, Any]:
        return {
            "phases": record.phases.filter(STANDING),
            "examinations": record.examinations.select_related("technique", "operator")
            .annotate(image_count=Count("images", filter=Q(images__withdrawn_at__isnull=True)))
            .order_by("date_earliest", "pk"),
            "treatments": record.treatments.filter(STANDING).select_related("kind"),
        }


class ExaminationPage(RecordPage):
    model = Examination
    template = "records/examination.html"

    def records(self) -> QuerySet[Any]:
        return Examination.objects.select_related(
            "campaign__object", "technique", "operator", "signed_by"
        )

    def gather(self, record: Examination) -> dict[str, Any]:
        sightings = record.sightings.filter(STANDING)
        return {
            "settings": tell(record.settings, record.technique.asked()),
            "covered": [(one, _plan(one)) for one in covered_faces(record)],
            "not_told": faces_not_told(record),
            "gone": record.coverage.exclude(STANDING).select_related("face"),
            "images": record.images.filter(STANDING).prefetch_related(
                Prefetch("placements", to_attr="placed")
            ),
            "mosaics": record.mosaics.filter(STANDING),
            "found": sightings.values("outcome").annotate(count=Count("pk")).order_by("outcome"),
            "sighting_count": sightings.count(),
        }


def _plan(one: CoveredFace) -> SafeString:
    """The plan of a face; it holds numbers only."""
    plan = draw_plan(
        one.size_mm, one.outline, one.left, one.zones, within_mm=PLAN_MM, key=str(one.face.pk)
    )
    return mark_safe(plan.svg)


class Cautions(Access):
    """What to beware of with the technique chosen in a form."""

    def get(self, request: HttpRequest) -> HttpResponse:
        key = request.GET.get("technique", "")
        technique = Technique.objects.filter(pk=key).first() if key.isdigit() else None
        return render(request, "records/forms/technique.html", {"technique": technique})


class NewCampaign(NewRecord):
    form_class = CampaignForm
    parent, link = Object, "object"


class NewPhase(NewRecord):
    form_class = CampaignForm
    parent, link = Campaign, "parent"

    def record(self, request: HttpRequest, **where: Any) -> Any:
        phase = super().record(request, **where)
        phase.object = phase.parent.object
        return phase

    def title(self, record: Any) -> str:
        return "New phase"


class SheetEntry(EntryPage):
    """The form of an information sheet, whose technique says what it asks for.

    With `?part=settings` only that part is answered, for the technique that has been chosen.
    """

    template = "records/examination_form.html"

    def get(self, request: HttpRequest, **where: Any) -> HttpResponse:
        if request.GET.get("part") != "settings":
            return super().get(request, **where)
        record = self.record(request, **where)
        form = ExaminationForm(instance=record, user=signed_in(request))
        form.choose(request.GET)
        return render(request, "records/forms/settings.html", {"form": form, "is_part": True})

    def next_address(self, form: Any) -> str:
        for words in form.doubts:
            messages.warning(self.request, words)
        return super().next_address(form)


class NewExamination(SheetEntry, NewRecord):
    form_class = ExaminationForm
    parent, link = Campaign, "campaign"


class CoverageEntry(EntryPage):
    """The form of what was covered, with the face to draw it on."""

    template = "records/coverage_form.html"

    def around(self, form: Any) -> dict[str, Any]:
        return {"set_up": drawing_board(form.fields["face"].queryset, form["geometry"].html_name)}


class NewCoverage(CoverageEntry, NewRecord):
    form_class = CoverageForm
    parent, link = Examination, "examination"

    def title(self, record: Any) -> str:
        return "Add what was covered"


class ChangeCampaign(ChangeRecord):
    form_class = CampaignForm


class ChangeExamination(SheetEntry, ChangeRecord):
    form_class = ExaminationForm


class ChangeCoverage(CoverageEntry, ChangeRecord):
    form_class = CoverageForm


def drawing_board(faces: Iterable[Face], field: str) -> dict[str, Any]:
    """What the page needs to draw areas on faces: their outlines and pictures, by key."""
    return {
        "field": field,
        "faces": {
            face.pk: {
                "name": face.name,
                "width": face.size_mm[0],
                "height": face.size_mm[1],
                "outline": face.outline.coords,
                "pictures": pictures_on(face),
            }
            for face in faces
        },
    }
