"""The room of an object's history: timeline, bounds, contradictions, degrees of trust, evidence."""

from datetime import date
from typing import Any, ClassVar, NamedTuple

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.functional import cached_property

from records.access import Access, signed_in
from records.changes import change
from records.choices import Trust
from records.forms.history import HistoryFilter, WhyBroughtBack, WhySetAside
from records.models import Object, SetAside, Trace, User
from records.reconstruction import recompute, store, timeline
from records.reconstruction.evidence import Evidence, Item
from records.reconstruction.figures import compare, figures
from records.reconstruction.gather import gather
from records.reconstruction.telling import Teller
from records.spatial import Intersects, literal
from records.trail import Crumb
from records.views.base import frame

BARS_PER_LANE = 40
BOUNDS_PER_PAGE = 100
POINTS = {"start": "start", "end": "end", "made": "when it came about", "gone": "when it was gone"}
LANE_NAMES = {code: title for code, title, _ in timeline.LANES}
STEPS = (
    ("earlier", "Earlier", "a"),
    ("later", "Later", "d"),
    ("closer", "Closer", "w"),
    ("wider", "Wider", "q"),
)


class Section(NamedTuple):
    """A page of the room."""

    code: str
    name: str


SECTIONS = (
    Section("object-history", "Timeline"),
    Section("object-history-bounds", "Bounds"),
    Section("object-history-contradictions", "Contradictions"),
    Section("object-history-trust", "Degrees of trust"),
    Section("object-history-aside", "Set aside"),
)


class HistoryPage(Access):
    """A page of the room; subclasses show one side of the reconstruction that is in `shown`."""

    section: ClassVar[str]
    template: ClassVar[str]

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        self.item = get_object_or_404(Object, pk=pk)
        self.filter = HistoryFilter(request.GET, self.item)
        return render(request, self.template, self.around(request) | self.show(request))

    @cached_property
    def evidence(self) -> Evidence:
        return gather(self.item)

    @cached_property
    def shown(self) -> store.Shown:
        """The reconstruction to show; one out of date has a new one worked out."""
        found = store.shown(self.evidence, self.filter.degree)
        if not found.is_current:
            recompute.request(self.item.pk)
        return found

    @property
    def case(self) -> dict[str, Any]:
        kept = self.shown.reconstruction
        return kept.case if kept else self.evidence.case(self.filter.degree)

    @property
    def result(self) -> dict[str, Any] | None:
        kept = self.shown.reconstruction
        return kept.result if kept else None

    @cached_property
    def teller(self) -> Teller:
        return teller(self.evidence, self.case)

    def around(self, request: HttpRequest) -> dict[str, Any]:
        """What every page of the room shows."""
        context = frame(request, self.item) | {
            "room": "history",
            "nav": "objects",
            "sections": SECTIONS,
            "section": self.section,
            "filter": self.filter,
            "trust": Trust(self.filter.degree),
            "shown": self.shown,
            "may_write": signed_in(request).writes_records,
            "unused": self.evidence.unused,
            "aside_count": len(self.evidence.set_aside),
        }
        context["crumbs"] = [
            *context["crumbs"],
            Crumb("History", reverse("object-history", args=[self.item.pk])),
        ]
        if not self.shown.is_current:
            context["progress"] = recompute.progress(self.evidence)
        if self.result:
            context["figures"] = figures(self.case, self.result)
            context["conflicts"] = self.teller.contradictions(self.result)
        return context

    def show(self, request: HttpRequest) -> dict[str, Any]:
        """What this page shows besides."""
        return {}

    def spans(self) -> list[timeline.Span]:
        """Everything in the history that the filter lets through."""
        assert self.result is not None
        found = timeline.spans(self.case, self.result)
        if wanted := self.filter.chosen("show"):
            families = {"alteration", "intervention", "making"}
            found = [
                s
                for s in found
                if (s.lane == wanted) or (wanted == "events" and s.lane not in families)
            ]
        if self.filter.chosen("kind") or self.filter.chosen("zone"):
            wanted_traces = self._traces()
            found = [s for s in found if not s.id.startswith("trace:") or s.id in wanted_traces]
        return found

    def _traces(self) -> set[str]:
        traces = Trace.objects.filter(face__object=self.item)
        if kind := self.filter.chosen("kind"):
            traces = traces.filter(kind=kind)
        if zone := self.filter.chosen("zone"):
            traces = traces.filter(Intersects("shape", literal(zone.geometry)), face=zone.face_id)
        return {f"trace:{pk}" for pk in traces.values_list("pk", flat=True)}


def teller(evidence: Evidence, case: dict[str, Any]) -> Teller:
    """Tells a case with links to the records behind it, those set aside included."""
    aside = {item.id: item for _, items in evidence.set_aside for item in items}
    records = {entity.id: entity.record for entity in evidence.entities.values()}
    return Teller(case, aside | evidence.items, records)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


class TimelinePage(HistoryPage):
    """The object's life as a drawing, with everything in it to be selected."""

    section = "object-history"
    template = "records/object/history.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        if self.result is None:
            return {}
        horizon = self.case["horizon"]
        whole = date.fromisoformat(horizon["earliest"]), date.fromisoformat(horizon["latest"])
        window = timeline.narrowed(self.filter.window(whole), whole)
        most = None if self.filter.chosen("whole") else BARS_PER_LANE
        layout = timeline.lay_out(self.spans(), window, self.filter.width_px, most)
        moves = timeline.moves(window, whole)
        steps = [
            {"code": code, "name": name, "key": key, "leads": code in moves}
            | dict(
                zip(("first", "last"), map(date.isoformat, moves.get(code, window)), strict=True)
            )
            for code, name, key in STEPS
        ]
        return {"layout": layout, "steps": steps}


class BoundsPage(HistoryPage):
    """All bounds as a table: what the timeline shows, to be read line by line."""

    section = "object-history-bounds"
    template = "records/object/history_bounds.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        if self.result is None:
            return {}
        lanes = {code: place for place, (code, _, _) in enumerate(timeline.LANES)}
        found = sorted(self.spans(), key=lambda s: (lanes[s.lane], s.begins, s.id))
        page = Paginator(found, BOUNDS_PER_PAGE).get_page(request.GET.get("page"))
        return {"page_obj": page, "rows": [self._row(s) for s in page.object_list]}

    def _row(self, span: timeline.Span) -> dict[str, Any]:
        assert self.result is not None
        begin, end = ("made", "gone") if span.id.startswith("trace:") else ("start", "end")
        reasons = self.result["reasons"]
        cells = [
            {
                "bound": f"{span.id}.{point}.{side}",
                "day": day,
                "known": bool(reasons.get(f"{span.id}.{point}.{side}")),
            }
            for point, days in ((begin, span.begins), (end, span.ends))
            for side, day in zip(("earliest", "latest"), days, strict=True)
        ]
        return {"span": span, "lane": LANE_NAMES[span.lane], "cells": cells}


class ContradictionsPage(HistoryPage):
    """What cannot all be true, and what would have to give."""

    section = "object-history-contradictions"
    template = "records/object/history_contradictions.html"


class TrustPage(HistoryPage):
    """How bounds tighten from firm evidence to all evidence."""

    section = "object-history-trust"
    template = "records/object/history_trust.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        kept = [store.shown(self.evidence, trust).reconstruction for trust in Trust.values]
        if None in kept:
            return {}
        degrees = [
            {
                "trust": Trust(k.trust),
                "items": len(k.case["evidence"]),
                "figures": figures(k.case, k.result),
            }
            for k in kept
            if k
        ]
        tightened = compare([k.result for k in kept if k])
        page = Paginator(tightened, BOUNDS_PER_PAGE).get_page(request.GET.get("page"))
        rows = [
            {
                "change": c,
                "name": _capital(self.teller.name(c.entity).text),
                "point": POINTS[c.name],
            }
            for c in page.object_list
        ]
        return {"degrees": degrees, "page_obj": page, "rows": rows}


class AsidePage(HistoryPage):
    """What is set aside, by whom and why, and what was and has been brought back."""

    section = "object-history-aside"
    template = "records/object/history_aside.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        aside = [i for _, items in self.evidence.set_aside for i in items]
        told = teller(self.evidence, self.evidence.case_with(aside))
        asides = [
            {"aside": one, "sentences": [told.sentence(i.id) for i in items]}
            for one, items in self.evidence.set_aside
        ]
        back = SetAside.objects.filter(object=self.item, withdrawn_at__isnull=False)
        return {"asides": asides, "brought_back": back.select_related("by", "withdrawn_by")}


class GroundsPage(HistoryPage):
    """Why an event or a trace lies when it does: all its bounds, told. Fills the grounds."""

    section = "object-history"
    template = "records/object/history_grounds.html"

    def get(self, request: HttpRequest, pk: int, entity: str = "") -> HttpResponse:
        self.item = get_object_or_404(Object, pk=pk)
        self.filter = HistoryFilter(request.GET, self.item)
        if self.result is None or entity not in self.result["events"] | self.result["traces"]:
            raise Http404("This history knows nothing of that.")
        tellings = self.teller.entity(entity, self.result)
        bears = {entity} | {e for t in tellings for b in t.bounds for e in self._bearing(b)}
        context = {
            "object": self.item,
            "trust": Trust(self.filter.degree),
            "title": _capital(self.teller.name(entity).text),
            "record": self.teller.records.get(entity),
            "tellings": tellings,
            "asked": request.GET.get("bound", ""),
            "bears": " ".join(sorted(bears)),
            "may_write": signed_in(request).writes_records,
        }
        return render(request, self.template, context)

    def _bearing(self, bound: str) -> set[str]:
        assert self.result is not None
        return self.teller.entities_of(self.result["reasons"].get(bound, ()))


class ProgressPart(HistoryPage):
    """How far the new history is: a part of the page that asks again while work is going on."""

    section = "object-history"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        self.item = get_object_or_404(Object, pk=pk)
        progress = recompute.progress(self.evidence)
        context = {"object": self.item, "progress": progress, "first": "first" in request.GET}
        answer = render(request, "records/object/history_progress.html", context)
        if progress.state == "current" and context["first"]:
            answer["HX-Refresh"] = "true"
        return answer


class Decision(Access):
    """A page that says what is decided about a piece of evidence, asks why, then does it."""

    needs = "writes_records"
    heading: ClassVar[str]
    button: ClassVar[str]
    form_class: ClassVar[type[forms.Form]]

    def get(self, request: HttpRequest, pk: int, **about: Any) -> HttpResponse:
        return self._answer(request, pk, about, self.form_class())

    def post(self, request: HttpRequest, pk: int, **about: Any) -> HttpResponse:
        return self._answer(request, pk, about, self.form_class(request.POST))

    def _answer(
        self, request: HttpRequest, pk: int, about: dict[str, Any], form: forms.Form
    ) -> HttpResponse:
        self.item = get_object_or_404(Object, pk=pk)
        self.evidence = gather(self.item)
        items = self.items(**about)
        if not items:
            messages.error(request, "Somebody has decided about that evidence already.")
            return redirect("object-history-aside", pk)
        if form.is_valid():
            self.do(signed_in(request), form.cleaned_data["why"], **about)
            messages.success(request, "Done. The history is being worked out anew.")
            return redirect("object-history-aside", pk)
        told = teller(self.evidence, self.evidence.case_with(items))
        context = frame(request, self.item) | {
            "room": "history",
            "nav": "objects",
            "heading": self.heading,
            "sentences": [told.sentence(i.id) for i in items],
            "form": form,
            "button": self.button,
            "back": reverse("object-history-aside", args=[pk]),
        }
        status = 422 if form.is_bound else 200
        return render(request, "records/object/history_decision.html", context, status=status)

    def items(self, **about: Any) -> tuple[Item, ...]:
        """The evidence concerned; none when there is nothing left to decide."""
        raise NotImplementedError

    def do(self, user: User, why: str, **about: Any) -> None:
        raise NotImplementedError


class SetAsidePage(Decision):
    """Set an item of evidence aside, with a reason."""

    heading = "Set evidence aside"
    button = "Set it aside"
    form_class = WhySetAside

    def items(self, **about: Any) -> tuple[Item, ...]:
        found = self.evidence.items.get(about["evidence"])
        return (found,) if found else ()

    def do(self, user: User, why: str, **about: Any) -> None:
        with change(user=user, why=why):
            SetAside.objects.create(object=self.item, item=about["evidence"], why=why, by=user)


class BringBackPage(Decision):
    """Bring back what was set aside, with a reason."""

    heading = "Bring evidence back"
    button = "Bring it back"
    form_class = WhyBroughtBack

    def items(self, **about: Any) -> tuple[Item, ...]:
        asides = {aside.pk: items for aside, items in self.evidence.set_aside}
        return asides.get(about["aside"], ())

    def do(self, user: User, why: str, **about: Any) -> None:
        SetAside.objects.get(pk=about["aside"]).withdraw(user=user, why=why)
