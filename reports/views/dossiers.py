"""Dossiers: the list, asking for one, following its making, reading, verifying and signing it."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from records.access import Access, needs, require, signed_in
from records.models import Object
from records.trail import Crumb, address_of
from records.views.base import ListPage
from records.views.files import hand_out
from reports import building
from reports.choices import DossierState
from reports.filtersets import DossierListFilterSet
from reports.forms.dossiers import AskForm, VerifyForm
from reports.models import Dossier
from reports.tables import DossierTable
from reports.verification import verify_file, verify_kept


class Dossiers(ListPage):
    """All dossiers, on whatever object."""

    needs = "is_authenticated"
    table_class = DossierTable
    filter_class = DossierListFilterSet
    template = "reports/dossiers.html"

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        return {"nav": "objects"}

    def rows(self, context: dict[str, Any]) -> QuerySet[Dossier]:
        return Dossier.objects.select_related("object", "requested_by", "signed_by")


class ObjectDossiers(Access):
    """The dossiers on one object, and the form that asks for another."""

    needs = "is_authenticated"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        return self._show(request, get_object_or_404(Object, pk=pk), AskForm())

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        form = AskForm(request.POST)
        if not form.is_valid():
            return self._show(request, item, form, status=422)
        dossier = building.ask_for(item, by=signed_in(request), **form.cleaned_data)
        return redirect(dossier)

    def _show(
        self, request: HttpRequest, item: Object, form: AskForm, status: int = 200
    ) -> HttpResponse:
        dossiers = item.dossiers.select_related("requested_by", "signed_by")
        context = {"object": item, "room": "dossiers", "dossiers": dossiers, "form": form}
        return render(request, "reports/object_dossiers.html", context, status=status)


@needs("is_authenticated")
def dossier(request: HttpRequest, pk: int) -> HttpResponse:
    """One dossier: how far it is, or the finished file with its SHA-256 and signature.

    While it is being made the page asks for the part `?part=progress` every second.
    """
    found = get_object_or_404(_with_people(), pk=pk)
    if request.GET.get("part") == "progress":
        return _progress(request, found)
    return render(request, "reports/dossier_page.html", _frame(request, found))


def _progress(request: HttpRequest, dossier: Dossier) -> HttpResponse:
    """How far the making is; when it has ended, the whole page is loaded anew."""
    response = render(request, "reports/dossier_progress.html", {"dossier": dossier})
    if not _is_being_made(dossier):
        response["HX-Refresh"] = "true"
    return response


def _is_being_made(dossier: Dossier) -> bool:
    return dossier.state in {DossierState.QUEUED, DossierState.BUILDING}


def _with_people() -> QuerySet[Dossier]:
    return Dossier.objects.select_related("object", "requested_by", "signed_by")


def _frame(request: HttpRequest, dossier: Dossier) -> dict[str, Any]:
    item = dossier.object
    return {
        "dossier": dossier,
        "object": item,
        "room": "dossiers",
        "being_made": _is_being_made(dossier),
        "may_sign": _may_sign(request, dossier),
        "verify_form": VerifyForm(),
        "crumbs": [
            Crumb("Objects", reverse("objects")),
            Crumb(str(item), address_of(item)),
            Crumb("Dossiers", reverse("object-dossiers", args=[item.pk])),
            Crumb(dossier.title, address_of(dossier)),
        ],
    }


def _may_sign(request: HttpRequest, dossier: Dossier) -> bool:
    is_unsigned = dossier.state == DossierState.READY and dossier.signed_at is None
    return is_unsigned and signed_in(request).writes_records


@needs("is_authenticated")
def dossier_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The PDF, as it was frozen."""
    return hand_out(get_object_or_404(Dossier, pk=pk, state=DossierState.READY).file)


@require_POST
@needs("is_authenticated")
def ask_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a dossier that could not be made back into the queue."""
    found = get_object_or_404(Dossier, pk=pk)
    if not building.ask_again(found):
        messages.info(request, "The dossier is in the queue or made already.")
    return redirect(found)


@require_POST
@needs("is_authenticated")
def sign(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign a finished dossier, after its stored file has been read and found unaltered."""
    require(request, "writes_records")
    found = get_object_or_404(Dossier, pk=pk, state=DossierState.READY)
    verdict = verify_kept(found)
    if verdict.outcome != "same":
        messages.error(request, f"It was not signed. {verdict.words}")
        return redirect(found)
    signed = Dossier.objects.filter(pk=pk, signed_at__isnull=True).update(
        signed_at=timezone.now(), signed_by=signed_in(request)
    )
    if signed:
        messages.success(request, "Signed. The dossier and its signature can no longer be changed.")
    else:
        messages.info(request, "The dossier is signed already.")
    return redirect(found)


class Verify(Access):
    """Whether a file is a dossier as it was made; `pk` names the one that it should be."""

    needs = "is_authenticated"

    def get(self, request: HttpRequest, pk: int | None = None) -> HttpResponse:
        return self._show(request, self._expected(pk), VerifyForm(), None)

    def post(self, request: HttpRequest, pk: int | None = None) -> HttpResponse:
        expected = self._expected(pk)
        form = VerifyForm(request.POST, request.FILES)
        verdict = verify_file(form.cleaned_data["file"], expected) if form.is_valid() else None
        return self._show(request, expected, form, verdict, status=200 if verdict else 422)

    def _expected(self, pk: int | None) -> Dossier | None:
        return get_object_or_404(_with_people(), pk=pk) if pk else None

    def _show(
        self,
        request: HttpRequest,
        expected: Dossier | None,
        form: VerifyForm,
        verdict: Any,
        status: int = 200,
    ) -> HttpResponse:
        context = {"expected": expected, "form": form, "verdict": verdict}
        return render(request, "reports/verify.html", context, status=status)
