"""Shapes that their image has left: a person says of each whether it is carried along."""

from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from records.access import Access, signed_in
from records.carrying import decide, left_on
from records.forms.carrying import CARRY, STAY, CarryForm
from records.models import Placement, Sighting
from records.refusals import explain
from records.trail import Crumb
from records.views.base import closed, frame


class CarryShapes(Access):
    """The shapes drawn on an image before it was placed where it lies now on one face."""

    needs = "writes_records"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        placement = self._placement(pk)
        if words := closed(placement):
            messages.error(request, words)
            return redirect(placement)
        return self._show(request, placement, self._form(placement))

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        placement = self._placement(pk)
        form = self._form(placement, request.POST)
        if not form.is_valid():
            return self._show(request, placement, form, status=422)
        carried, staying = form.chosen(CARRY), form.chosen(STAY)
        try:
            decide(carried, staying, user=signed_in(request), why=form.cleaned_data["why"])
        except IntegrityError as error:
            form.add_error(None, " ".join(explain(error, Sighting).values()))
            return self._show(request, placement, form, status=422)
        told = [f"carried along: {len(carried)}", f"confirmed where they are: {len(staying)}"]
        messages.success(request, f"Shapes {', '.join(told)}.")
        return redirect(placement)

    def _placement(self, pk: int) -> Placement:
        placements = Placement.objects.select_related("image__object", "face")
        return get_object_or_404(placements, pk=pk)

    def _form(self, placement: Placement, sent: Any = None) -> CarryForm:
        found = [one for one in left_on(placement.image) if one.placement.pk == placement.pk]
        return CarryForm(sent, found=found, opened=placement.updated_at.isoformat())

    def _show(
        self, request: HttpRequest, placement: Placement, form: CarryForm, status: int = 200
    ) -> HttpResponse:
        context = frame(request, placement.image) | {"placement": placement, "form": form}
        context["crumbs"] = [*context["crumbs"], Crumb("Shapes it has left", request.path)]
        return render(request, "records/carry_shapes.html", context, status=status)
