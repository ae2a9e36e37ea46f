"""The section editor: scale and boundaries on the photograph, and what they say of the layers."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from analyses.forms.correlating import CoursesForm
from analyses.forms.sections import SectionForm, TakeForm
from analyses.measuring import measures, take_over
from analyses.models import Preparation
from analyses.sequence import confirm, propose, sections_of
from records.access import Access, require, signed_in
from records.models import Object
from records.trail import Crumb, address_of
from records.views.base import ChangeRecord, closed, frame


class EditSection(ChangeRecord):
    """Draw on the photograph of a preparation."""

    form_class = SectionForm
    template = "analyses/section_editor.html"
    crumb = "On the photograph"

    def title(self, record: Any) -> str:
        return f"{record} on its photograph"

    def around(self, form: Any) -> dict[str, Any]:
        image = form.instance.image
        return {"image": image, "set_up": _set_up(image) if image and image.pyramid else None}

    def next_address(self, form: Any) -> str:
        if not form.instance.boundaries:
            return super().next_address(form)
        return reverse("measures-edit", args=[form.instance.pk])


def _set_up(image: Any) -> dict[str, Any]:
    """What the page needs to show the photograph."""
    return {
        "width": image.width_px,
        "height": image.height_px,
        "tiles": reverse("image-tiles", args=[image.pk, "x"]).removesuffix("/x"),
    }


class TakeMeasures(Access):
    """What was measured beside what is recorded; ticked, it is taken over."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        preparation = _preparation(pk)
        return self._show(request, preparation, TakeForm(measures=measures(preparation)))

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        preparation = _preparation(pk)
        if words := closed(preparation):
            messages.error(request, words)
            return redirect(preparation)
        found = measures(preparation)
        form = TakeForm(request.POST, measures=found)
        if not form.is_valid():
            return self._show(request, preparation, form, status=422)
        given = form.cleaned_data
        count = take_over(preparation, found, given, user=signed_in(request), why=given["why"])
        layers = "one layer" if count == 1 else f"{count} layers"
        messages.success(
            request, f"Measures of {layers} taken over." if count else "Left as it is."
        )
        return redirect(preparation)

    def _show(
        self, request: HttpRequest, preparation: Preparation, form: TakeForm, status: int = 200
    ) -> HttpResponse:
        context = frame(request, preparation) | {"form": form, "back": address_of(preparation)}
        context["crumbs"] = [*context["crumbs"], Crumb("Measures", request.path)]
        return render(request, "analyses/measures.html", context, status=status)


def _preparation(pk: int) -> Preparation:
    found = Preparation.objects.select_related("sample__point__face__object", "image")
    return get_object_or_404(found, pk=pk)


class Correlate(Access):
    """The layers of all sections of an object as one sequence; ticked, they are tied to a trace."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        sections = sections_of(item)
        return self._show(request, item, sections, CoursesForm(item=item, rows=propose(sections)))

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        require(request, "writes_analyses")
        item = get_object_or_404(Object, pk=pk)
        sections = sections_of(item)
        form = CoursesForm(request.POST, item=item, rows=propose(sections))
        if not form.is_valid():
            return self._show(request, item, sections, form, status=422)
        count = confirm(form.ties, user=signed_in(request), why=form.cleaned_data["why"])
        layers = "one layer" if count == 1 else f"{count} layers"
        words = (
            f"{layers} tied. The history is worked out anew." if count else "Nothing was ticked."
        )
        messages.success(request, words[:1].upper() + words[1:])
        return redirect(request.path)

    def _show(
        self, request: HttpRequest, item: Object, sections: list[Any], form: Any, status: int = 200
    ) -> HttpResponse:
        back = reverse("object-laboratory", args=[item.pk])
        context = frame(request, item) | {
            "room": "laboratory",
            "sections": sections,
            "form": form,
            "may_write": signed_in(request).writes_analyses,
            "open": any(row.open and len(row.layers) > 1 for row in form.rows),
        }
        context["crumbs"] += [Crumb("Laboratory", back), Crumb("One sequence", request.path)]
        return render(request, "analyses/correlate.html", context, status=status)
