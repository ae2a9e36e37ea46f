"""The room of an object's history: timeline, bounds, contradictions, degrees of trust, evidence."""

from collections import Counter
from datetime import date
from typing import Any, ClassVar, NamedTuple

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.functional import cached_property

from records.access import Access, signed_in
from records.choices import Family, Trust
from records.forms.history import DayFilter, HistoryFilter, SequenceFilter
from records.models import Object, SetAside, Trace
from records.reconstruction import attribution, recompute, sequence, store, timeline
from records.reconstruction.evidence import Evidence
from records.reconstruction.figures import compare, figures
from records.reconstruction.gather import gather
from records.reconstruction.states import best_known, places_of, states, stops, surface_on
from records.reconstruction.telling import Teller, Telling, span_in_words
from records.spatial import Intersects, literal
from records.trail import Crumb
from records.views.base import frame

BARS_PER_LANE = 40
BOUNDS_PER_PAGE = 100
QUESTIONS_PER_PAGE = 10
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
    Section("object-history-sequence", "Sequence"),
    Section("object-history-attribution", "Attribution"),
    Section("object-history-day", "On a day"),
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
            "entity": entity,
            "places": places_of(self.item, _traces_in(tellings)),
            "trust": Trust(self.filter.degree),
            "title": _capital(self.teller.name(entity).text),
            "record": self.teller.records.get(entity),
            "tellings": tellings,
            "asked": request.GET.get("bound", ""),
            "bears": " ".join(sorted(bears)),
            "may_write": signed_in(request).writes_records,
        }
        if "HX-Request" not in request.headers:
            context = self.around(request) | context
            return render(request, "records/object/history_told.html", context)
        return render(request, self.template, context)

    def _bearing(self, bound: str) -> set[str]:
        assert self.result is not None
        return self.teller.entities_of(self.result["reasons"].get(bound, ()))


def _traces_in(tellings: list[Telling]) -> set[int]:
    said = [s for t in tellings for s in (t.head, *t.because)]
    return {trace for sentence in said for trace in sentence.traces}


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


class AttributionPage(HistoryPage):
    """Interventions without a treatment, who may have made them, and work nobody recorded."""

    section = "object-history-attribution"
    template = "records/object/history_attribution.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        if self.result is None:
            return {}
        open_ = attribution.unattributed(self.case)
        page = Paginator(open_, QUESTIONS_PER_PAGE).get_page(request.GET.get("page"))
        asked = attribution.questions(
            self.evidence, self.teller, self.result, list(page.object_list)
        )
        labels = {t["id"]: t["label"] for t in self.case["traces"]}
        needed = [
            {
                "when": span_in_words(*map(date.fromisoformat, group["window"])),
                "traces": [(labels[t], self.teller.records.get(t)) for t in group["traces"]],
            }
            for group in self.result["campaigns_needed"]["groups"]
        ]
        return {"page_obj": page, "questions": asked, "needed": needed}


class SequencePage(HistoryPage):
    """The order of traces as a diagram, of the whole object, a zone or one section."""

    section = "object-history-sequence"
    template = "records/object/history_sequence.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        form = SequenceFilter(request.GET, self.item)
        context: dict[str, Any] = {"choice": form}
        if self.result is None:
            return context
        within = self._within(form)
        made = {
            trace: (date.fromisoformat(bounds["made"][0]), date.fromisoformat(bounds["made"][1]))
            for trace, bounds in self.result["traces"].items()
            if within is None or trace in within
        }
        orders = sequence.observed(self.case, made)
        if form.chosen("dates"):
            shown = {n for o in orders for n in (o.lower, o.upper)} if within is None else made
            orders += sequence.by_dates({t: made[t] for t in shown})
        labels = {t["id"]: t["label"] for t in self.case["traces"]}
        drawn = sequence.diagrams(orders, labels)
        said = sorted({i for one in drawn for line in one.lines for i in line.items})
        return context | {
            "diagrams": drawn,
            "ordered": sum(len(one.boxes) for one in drawn),
            "sentences": [self.teller.sentence(i) for i in said],
            "count": len(made),
        }

    def _within(self, form: SequenceFilter) -> set[str] | None:
        """The traces of the chosen section or zone; None for the whole object."""
        traces = Trace.objects.filter(face__object=self.item)
        if section := form.chosen("section"):
            traces = traces.filter(layers__preparation=section, layers__withdrawn_at=None)
        elif zone := form.chosen("zone"):
            traces = traces.filter(Intersects("shape", literal(zone.geometry)), face=zone.face_id)
        else:
            return None
        return {f"trace:{pk}" for pk in traces.values_list("pk", flat=True)}


class DayPage(HistoryPage):
    """The surface as it stood on a day."""

    section = "object-history-day"
    template = "records/object/history_day.html"

    def show(self, request: HttpRequest) -> dict[str, Any]:
        if self.result is None:
            return {}
        horizon = self.case["horizon"]
        first, last = (date.fromisoformat(horizon[side]) for side in ("earliest", "latest"))
        form = DayFilter(request.GET)
        day = form.day(first, last, best_known(self.result))
        found = states(self.case, day)
        moments = stops(self.case, self.result)
        before = [stop for stop in moments if stop.day < day]
        after = [stop for stop in moments if stop.day > day]
        return {
            "choice": form,
            "pigments": [(c, pigment) for c, _, pigment in timeline.LANES if c in set(Family)],
            "day": day,
            "stops": moments,
            "at": (day - first).days,
            "days": (last - first).days,
            "first": first,
            "last": last,
            "before": before[-1] if before else None,
            "after": after[0] if after else None,
            "faces": surface_on(self.item, found, form.families()),
            "counts": Counter(found.values()),
        }
