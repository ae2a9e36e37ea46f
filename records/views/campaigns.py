"""Campaigns, their examinations with information sheets, and what these covered."""

from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from records.access import Access
from records.forms.campaigns import CampaignForm, CoverageForm, ExaminationForm
from records.models import Campaign, Examination, Object, Technique
from records.views.base import ChangeRecord, NewRecord, RecordPage

STANDING = Q(withdrawn_at__isnull=True)


class CampaignPage(RecordPage):
    model = Campaign
    template = "records/campaign.html"

    def records(self) -> QuerySet[Any]:
        return Campaign.objects.select_related("object", "parent").prefetch_related("people")

    def gather(self, record: Campaign) -> dict[str, Any]:
        return {
            "phases": record.phases.filter(STANDING),
            "examinations": record.examinations.select_related("technique", "operator").annotate(
                image_count=Count("images", filter=Q(images__withdrawn_at__isnull=True))
            ),
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
            "coverage": record.coverage.select_related("face"),
            "images": record.images.filter(STANDING).prefetch_related(
                Prefetch("placements", to_attr="placed")
            ),
            "found": sightings.values("outcome").annotate(count=Count("pk")).order_by("outcome"),
            "sighting_count": sightings.count(),
        }


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


class NewExamination(NewRecord):
    form_class = ExaminationForm
    parent, link = Campaign, "campaign"


class NewCoverage(NewRecord):
    form_class = CoverageForm
    parent, link = Examination, "examination"

    def title(self, record: Any) -> str:
        return "Add what was covered"


class ChangeCampaign(ChangeRecord):
    form_class = CampaignForm


class ChangeExamination(ChangeRecord):
    form_class = ExaminationForm


class ChangeCoverage(ChangeRecord):
    form_class = CoverageForm
