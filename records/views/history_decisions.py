"""What a person decides about a history: evidence set aside or brought back, traces attributed."""

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from records import history
from records.access import Access, signed_in
from records.changes import change
from records.choices import EffectKind, Standing, Strength
from records.forms.history import InferredTreatment, WhyAccepted, WhyBroughtBack, WhySetAside
from records.models import Effect, Object, SetAside, Trace, Treatment, User
from records.reconstruction import store
from records.reconstruction.evidence import Item
from records.reconstruction.gather import gather
from records.reconstruction.telling import Contradiction, Sentence, Teller
from records.views.base import frame
from records.views.history import teller


class Decision(Access):
    """A page that says what is to be decided, asks why, then does it."""

    needs = "writes_records"
    heading: ClassVar[str]
    button: ClassVar[str]
    form_class: ClassVar[type[forms.Form]]
    back: ClassVar[str] = "object-history-aside"

    def get(self, request: HttpRequest, pk: int, **about: Any) -> HttpResponse:
        return self._answer(request, pk, about)

    def post(self, request: HttpRequest, pk: int, **about: Any) -> HttpResponse:
        return self._answer(request, pk, about)

    def _answer(self, request: HttpRequest, pk: int, about: dict[str, Any]) -> HttpResponse:
        self.item = get_object_or_404(Object, pk=pk)
        self.evidence = gather(self.item)
        sentences = self.sentences(**about)
        if not sentences:
            messages.error(request, "Somebody has decided about that already.")
            return redirect(self.back, pk)
        form = self.form(request.POST if request.method == "POST" else None)
        if form.is_valid():
            self.do(signed_in(request), form.cleaned_data, **about)
            messages.success(request, "Done. The history is being worked out anew.")
            return redirect(self.back, pk)
        context = frame(request, self.item) | {
            "room": "history",
            "nav": "objects",
            "heading": self.heading,
            "sentences": sentences,
            "form": form,
            "button": self.button,
            "back": reverse(self.back, args=[pk]),
        }
        if not form.is_bound:
            context["conflicts"] = self.consequences(**about)
        status = 422 if form.is_bound else 200
        return render(request, "records/object/history_decision.html", context, status=status)

    def form(self, data: Any) -> forms.Form:
        return self.form_class(data)

    def told(self, items: tuple[Item, ...]) -> list[Sentence]:
        """Items of evidence, used or not, as sentences."""
        known = teller(self.evidence, self.evidence.case_with(items))
        return [known.sentence(i.id) for i in items]

    def sentences(self, **about: Any) -> list[Sentence]:
        """What is decided about; nothing when there is nothing left to decide."""
        raise NotImplementedError

    def consequences(self, **about: Any) -> list[Contradiction]:
        """Contradictions that the decision would bring."""
        return []

    def do(self, user: User, data: dict[str, Any], **about: Any) -> None:
        raise NotImplementedError


class SetAsidePage(Decision):
    """Set an item of evidence aside, with a reason."""

    heading = "Set evidence aside"
    button = "Set it aside"
    form_class = WhySetAside

    def sentences(self, **about: Any) -> list[Sentence]:
        found = self.evidence.items.get(about["evidence"])
        return self.told((found,)) if found else []

    def do(self, user: User, data: dict[str, Any], **about: Any) -> None:
        with change(user=user, why=data["why"]):
            SetAside.objects.create(
                object=self.item, item=about["evidence"], why=data["why"], by=user
            )


class BringBackPage(Decision):
    """Bring back what was set aside, with a reason."""

    heading = "Bring evidence back"
    button = "Bring it back"
    form_class = WhyBroughtBack

    def sentences(self, **about: Any) -> list[Sentence]:
        asides = {aside.pk: items for aside, items in self.evidence.set_aside}
        return self.told(asides.get(about["aside"], ()))

    def do(self, user: User, data: dict[str, Any], **about: Any) -> None:
        SetAside.objects.get(pk=about["aside"]).withdraw(user=user, why=data["why"])


class AcceptPage(Decision):
    """Accept a treatment as the one that made a trace; what would contradict it is shown first."""

    heading = "Accept a treatment"
    button = "Accept it"
    form_class = WhyAccepted
    back = "object-history-attribution"

    def _claim(self, trace: int, treatment: int) -> Item | None:
        of_trace = self.evidence.entities.get(f"trace:{trace}")
        of_treatment = self.evidence.entities.get(f"treatment:{treatment}")
        tied = any(
            i.kind == "made_during" and i.fields["trace"] == f"trace:{trace}"
            for i in self.evidence.items.values()
        )
        if of_trace is None or of_treatment is None or tied:
            return None
        fields = {"trace": of_trace.id, "events": [of_treatment.id]}
        return Item("effect:new", "made_during", Strength.LIKELY, fields, of_treatment.record)

    def sentences(self, **about: Any) -> list[Sentence]:
        claim = self._claim(**about)
        return self.told((claim,)) if claim else []

    def consequences(self, **about: Any) -> list[Contradiction]:
        claim = self._claim(**about)
        assert claim is not None
        case = self.evidence.case_with((claim,))
        result = history.solve(history.Case.from_json(case)).to_json()
        brought = [c for c in result["conflicts"] if claim.id in c]
        known: Teller = teller(self.evidence, case)
        return known.contradictions(result | {"conflicts": brought})

    def do(self, user: User, data: dict[str, Any], **about: Any) -> None:
        with change(user=user, why=data["why"]):
            Effect.objects.create(
                treatment_id=about["treatment"],
                trace_id=about["trace"],
                kind=EffectKind.PRODUCED,
                strength=data["strength"],
                note=data["why"],
            )


class InferPage(Decision):
    """Record work that nobody documented as an inferred treatment, with the traces of it."""

    heading = "Record an inferred treatment"
    button = "Record it"
    back = "object-history-attribution"
    group: dict[str, Any]

    def sentences(self, **about: Any) -> list[Sentence]:
        kept = store.shown(self.evidence).reconstruction
        groups = kept.result["campaigns_needed"]["groups"] if kept else []
        if kept is None or not 0 < about["number"] <= len(groups):
            return []
        self.group = groups[about["number"] - 1]
        known = teller(self.evidence, kept.case)
        return [known.point(trace, "made", kept.result) for trace in self.group["traces"]]

    def form(self, data: Any) -> forms.Form:
        keys = [int(t.removeprefix("trace:")) for t in self.group["traces"]]
        traces = Trace.objects.filter(pk__in=keys, face__object=self.item)
        return InferredTreatment(data, traces=traces, window=self.group["window"])

    def do(self, user: User, data: dict[str, Any], **about: Any) -> None:
        with change(user=user, why=data["why"]):
            treatment = Treatment.objects.create(
                object=self.item,
                kind=data["kind"],
                title=data["title"],
                standing=Standing.INFERRED,
                date=data["date"],
                reason=data["why"],
            )
            for trace in data["traces"]:
                Effect.objects.create(
                    treatment=treatment, trace=trace, kind=EffectKind.PRODUCED, note=data["why"]
                )
