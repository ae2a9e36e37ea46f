"""What the readings of a place propose, and putting a proposal forward."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from analyses import proposing
from analyses.models import Identification, Layer, Sample, SamplingPoint
from analyses.proposals import Proposal
from records.access import Access, signed_in
from records.trail import Crumb
from records.views.base import frame

SHOWN = 8


class Proposals(Access):
    """Materials ranked for one layer, sample or sampling point."""

    model: Any = Layer

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        place = get_object_or_404(self.model, pk=pk)
        proposed = proposing.proposals_for(place)
        outcome = proposed.outcome
        standing = place.identification_set.filter(withdrawn_at__isnull=True)
        recorded = {one.material.code: one for one in standing.select_related("material")}

        def shown(proposals: Sequence[Proposal]) -> list[tuple[Proposal, Identification | None]]:
            return [(p, recorded.get(p.candidate.code)) for p in proposals[:SHOWN]]

        context = frame(request, place)
        context["crumbs"] = [*context["crumbs"], Crumb("Proposals", request.path)]
        context |= {
            "outcome": outcome,
            "ranked": shown(outcome.proposals),
            "more": max(0, len(outcome.proposals) - SHOWN),
            "contradicted": shown(outcome.contradicted),
            "together": outcome.together,
            "places_only": proposed.places_only,
            "may_propose": signed_in(request).writes_analyses and not place.is_withdrawn,
        }
        return render(request, "analyses/proposals.html", context)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        place = get_object_or_404(self.model, pk=pk)
        if not signed_in(request).writes_analyses:
            return self.http_method_not_allowed(request)
        proposed = proposing.proposals_for(place)
        wanted = request.POST.get("material", "")
        chosen = next(
            (p for p in (*proposed.outcome.proposals, *proposed.outcome.contradicted)
             if p.candidate.code == wanted),
            None,
        )  # fmt: skip
        if chosen is None:
            messages.error(request, "The readings no longer propose that material: look again.")
            return redirect(request.path)
        found = proposing.put_forward(proposed, chosen, signed_in(request))
        messages.success(request, f"{found}: proposed. Accept or reject it under your name.")
        return redirect(found)


class ProposalsForLayer(Proposals):
    model = Layer


class ProposalsForSample(Proposals):
    model = Sample


class ProposalsAtPoint(Proposals):
    model = SamplingPoint
