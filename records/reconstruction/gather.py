"""Reading the case of one object from its records, in a constant number of queries.

Nobody types evidence twice: what was seen, found and dated elsewhere in the records is read here as
the engine's items (records/history/README.md says what each kind means). Every item's id names the
record that it comes from, and stays the same as long as that record stands.

Decisions that the records leave open, each on the cautious side:

- An accepted identification is firm evidence of the material's first attested use unless the
  scientist's own confidence is only 'possible'. Where first uses are disputed, the earliest counts
  as accepted and each later one is tentative. Common use and last use are always tentative: old
  stock is used up, and recipes linger.
- A sample may hold several strata. Its identifications speak of the trace at its sampling point
  only when the layer is not singled out.
- A trace that appears twice in a cross-section was begun at its lowest appearance; higher ones say
  nothing of its making.
- Belonging to a campaign dates an examination, a phase or a treatment only when it has no date of
  its own: a check a week after the survey is no contradiction.
- A date marked ? or % is tentative; that of an inferred treatment is likely at most.
- What an event altered was there at that event.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import chain, groupby
from typing import Any

from django.db.models import Exists, Model, OuterRef, Prefetch, Q, QuerySet
from django.db.models.functions import Coalesce
from django.utils.timezone import localdate

from analyses.choices import Confidence, Decision, PreparationKind
from analyses.models import Identification, Layer
from records.choices import (
    EffectKind,
    ImageKind,
    MaterialDateKind,
    Order,
    Seen,
    Standing,
    StatementKind,
    Strength,
)
from records.history import edtf
from records.models import (
    Campaign,
    Effect,
    Examination,
    Image,
    MaterialDate,
    Object,
    Occurrence,
    Relation,
    SetAside,
    Sighting,
    Source,
    Statement,
    StatementEvent,
    StatementTrace,
    Trace,
    Treatment,
)
from records.reconstruction.evidence import Aside, Entity, Evidence, Item, Link, Unused

YEARS_BEFORE_FIRST_EVIDENCE = 100
DATED = ("dated_event", "dated_made", "dated_gone")
WEAKER = [Strength.FIRM, Strength.LIKELY, Strength.TENTATIVE]


def gather(item: Object, today: date | None = None) -> Evidence:
    """All evidence of one object. `today` only sets where the time considered ends (its year)."""
    return _Gathering(item).evidence(today or localdate())


def _standing(model: type[Model]) -> QuerySet[Any]:
    return model._default_manager.filter(withdrawn_at__isnull=True)


def _weakest(*strengths: str) -> str:
    return max(strengths, key=lambda s: WEAKER.index(Strength(s)))


def _by_date(strength: str, text: str) -> str:
    """The strength of a dated claim: tentative when the date itself is uncertain."""
    return Strength.TENTATIVE if edtf.read(text).tentative else strength


def _lower(label: str) -> str:
    """A term's label within a phrase: 'Retouching' as 'retouching', but 'UV coating' as it is."""
    return label if label[1:2].isupper() else label[:1].lower() + label[1:]


def _sources(record: Treatment | Occurrence) -> tuple[Link, ...]:
    return tuple(Link("source", s.pk, s.title) for s in record.sources.all())


def accepted_identifications(item: Object) -> QuerySet[Any]:
    """Accepted identifications of an object, each with `on_trace`, the trace it speaks of, if any.

    That is the trace named by the identification, else that of its layer, else that of its point.
    """
    withdrawn = Q(material__withdrawn_at__isnull=False)
    for place in (
        "point",
        "sample",
        "sample__point",
        "layer",
        "layer__preparation",
        "layer__preparation__sample",
        "layer__preparation__sample__point",
    ):
        withdrawn |= Q(**{f"{place}__withdrawn_at__isnull": False})
    accepted: QuerySet[Any] = (
        _standing(Identification)
        .filter(decision=Decision.ACCEPTED)
        .filter(
            Q(point__face__object=item)
            | Q(sample__point__face__object=item)
            | Q(layer__preparation__sample__point__face__object=item)
        )
        .exclude(withdrawn)
        .annotate(
            on_trace=Coalesce(
                "trace_id", "layer__trace_id", "point__trace_id", "sample__point__trace_id"
            )
        )
    )
    return accepted


class _Gathering:
    """One reading of one object's records; methods that yield items run one query each, or few."""

    def __init__(self, item: Object) -> None:
        self.object = item
        self.entities: dict[str, Entity] = {}
        self.unused: list[Unused] = []
        self.event_of_image: dict[int, str] = {}
        self.within: list[Item] = []

    def evidence(self, today: date) -> Evidence:
        asides = [
            Aside(a.pk, a.item, a.why, str(a.by), localdate(a.created_at))
            for a in _standing(SetAside).filter(object=self.object).select_related("by")
        ]
        # Dates come first: they bring the events that everything else refers to.
        dates = list(chain(self._campaigns(), self._examinations(), self._images()))
        dates += [*self._treatments(), *self._occurrences()]
        self._traces()
        found = chain(
            dates,
            self.within,
            self._sightings(),
            self._relations(),
            self._layers(),
            self._identifications(),
            self._effects(),
            self._statements(),
        )
        items: dict[str, Item] = {}
        aside: dict[int, list[Item]] = defaultdict(list)
        for one in found:
            decision = next((a for a in asides if a.covers(one.id)), None)
            if decision:
                aside[decision.pk].append(one)
            else:
                items[one.id] = one
        return Evidence(
            self.object.pk,
            self._horizon(items.values(), today),
            self.entities,
            items,
            tuple((a, tuple(aside[a.pk])) for a in asides),
            tuple(self.unused),
        )

    def _horizon(self, items: Iterable[Item], today: date) -> tuple[date, date]:
        """From the object's own date (or a century before the first evidence) to this year's end.

        Evidence dated outside widens it, so that a wrong date shows as a contradiction between
        records and never as one with the horizon, which nobody could open.
        """
        read = [edtf.read(i.fields["date"]) for i in items if i.kind in DATED]
        firsts = [d.earliest for d in read if d.earliest]
        lasts = [d.latest for d in read if d.latest]
        earliest = self.object.date_earliest
        if earliest is None:
            first = min(firsts, default=today)
            earliest = date(max(first.year - YEARS_BEFORE_FIRST_EVIDENCE, 1), 1, 1)
        return min([earliest, *firsts, *lasts]), max([date(today.year, 12, 31), *firsts, *lasts])

    # Events and their own dates

    def _event(self, kind: str, record: Any, label: str, kind_label: str, **more: Any) -> Entity:
        entity = Entity(
            f"{kind}:{record.pk}", kind, label, Link(kind, record.pk, label), kind_label, **more
        )
        self.entities[entity.id] = entity
        return entity

    def _dated(
        self, event: Entity, record: Any, strength: str, rests_on: tuple[Link, ...] = ()
    ) -> Iterator[Item]:
        if record.date:
            yield Item(
                f"{event.id}:date",
                "dated_event",
                _by_date(strength, record.date),
                {"event": event.id, "date": record.date},
                event.record,
                rests_on,
            )

    def _belongs(self, event: Entity, record: Any, outer_pk: int | None) -> None:
        outer = self.entities.get(f"campaign:{outer_pk}")
        if outer and not record.date:
            self.within.append(
                Item(
                    f"{event.id}:within",
                    "within",
                    Strength.FIRM,
                    {"inner": event.id, "outer": outer.id},
                    event.record,
                    (outer.record,),
                )
            )

    def _campaigns(self) -> Iterator[Item]:
        campaigns = list(_standing(Campaign).filter(object=self.object).order_by("pk"))
        for campaign in campaigns:
            event = self._event(
                "campaign", campaign, campaign.title, campaign.get_purpose_display()
            )
            yield from self._dated(event, campaign, Strength.FIRM)
        for campaign in campaigns:
            self._belongs(self.entities[f"campaign:{campaign.pk}"], campaign, campaign.parent_id)

    def _examinations(self) -> Iterator[Item]:
        examinations = (
            _standing(Examination)
            .filter(campaign__object=self.object)
            .select_related("technique", "campaign")
            .order_by("pk")
        )
        for examination in examinations:
            technique = examination.technique.label
            label = f"{technique}, {_lower(examination.campaign.title)}"
            event = self._event("examination", examination, label, technique)
            yield from self._dated(event, examination, Strength.FIRM)
            self._belongs(event, examination, examination.campaign_id)

    def _images(self) -> Iterator[Item]:
        """An image made in an examination dates by it; any other is a dated moment of its own.

        Scans and details are moments of the object's life only where something refers to them.
        """
        referred_to = Exists(_standing(Sighting).filter(image=OuterRef("pk"))) | Exists(
            _standing(StatementEvent).filter(image=OuterRef("pk"))
        )
        images = (
            _standing(Image)
            .filter(Q(kind=ImageKind.HISTORICAL) | referred_to, object=self.object)
            .select_related("source")
            .order_by("pk")
        )
        for image in images:
            made_in = f"examination:{image.examination_id}"
            if made_in in self.entities:
                self.event_of_image[image.pk] = made_in
            elif image.examination_id is None:
                event = self._event(
                    "image", image, image.title, image.get_kind_display(), instant=True
                )
                self.event_of_image[image.pk] = event.id
                source = image.source
                rests_on = (Link("source", source.pk, source.title),) if source else ()
                yield from self._dated(event, image, Strength.FIRM, rests_on)

    def _treatments(self) -> Iterator[Item]:
        treatments = (
            _standing(Treatment)
            .filter(object=self.object)
            .select_related("kind")
            .prefetch_related(Prefetch("sources", _standing(Source)))
            .order_by("pk")
        )
        for treatment in treatments:
            event = self._event("treatment", treatment, treatment.title, treatment.kind.label)
            inferred = treatment.standing == Standing.INFERRED
            strength = Strength.LIKELY if inferred else Strength.FIRM
            yield from self._dated(event, treatment, strength, _sources(treatment))
            self._belongs(event, treatment, treatment.campaign_id)

    def _occurrences(self) -> Iterator[Item]:
        occurrences = (
            _standing(Occurrence)
            .filter(object=self.object)
            .select_related("kind")
            .prefetch_related(Prefetch("sources", _standing(Source)))
            .order_by("pk")
        )
        for one in occurrences:
            event = self._event("occurrence", one, one.title, one.kind.label, instant=one.instant)
            yield from self._dated(event, one, Strength.FIRM, _sources(one))

    # Traces and what bears on them

    def _traces(self) -> None:
        traces = (
            _standing(Trace)
            .filter(face__object=self.object, face__withdrawn_at__isnull=True)
            .select_related("kind")
            .defer("shape", "description")
            .order_by("pk")
        )
        for trace in traces:
            kind = trace.kind
            label = trace.label or f"{_lower(kind.label)} {trace.number}"
            self.entities[f"trace:{trace.pk}"] = Entity(
                f"trace:{trace.pk}",
                "trace",
                label,
                Link("trace", trace.pk, label),
                kind.label,
                kind.family,
                trace.face_id,
            )

    def _known(self, *ids: str) -> bool:
        """Whether all these entities stand; what refers to a withdrawn record bears on nothing."""
        return all(i in self.entities for i in ids)

    def _sightings(self) -> Iterator[Item]:
        rows = (
            _standing(Sighting)
            .filter(trace__face__object=self.object)
            .exclude(outcome=Seen.UNCLEAR)
            .order_by("pk")
            .values_list("pk", "trace_id", "examination_id", "image_id", "outcome", "strength")
        )
        for pk, trace_pk, examination_pk, image_pk, outcome, strength in rows:
            trace = f"trace:{trace_pk}"
            look = (
                f"examination:{examination_pk}"
                if examination_pk
                else self.event_of_image.get(image_pk, "")
            )
            if self._known(trace, look):
                label = "sighting" if outcome == Seen.SEEN else "not seen"
                yield Item(
                    f"sighting:{pk}",
                    outcome,
                    strength,
                    {"trace": trace, "at": look},
                    Link("sighting", pk, label, ("trace", trace_pk)),
                    (self.entities[look].record,),
                )

    def _relations(self) -> Iterator[Item]:
        rows = (
            _standing(Relation)
            .filter(upper__face__object=self.object)
            .order_by("pk")
            .values_list("pk", "upper_id", "lower_id", "order", "strength", "examination_id")
        )
        for pk, upper_pk, lower_pk, order, strength, examination_pk in rows:
            upper, lower = f"trace:{upper_pk}", f"trace:{lower_pk}"
            if self._known(upper, lower):
                look = self.entities.get(f"examination:{examination_pk}")
                yield Item(
                    f"relation:{pk}",
                    "over",
                    strength,
                    {"upper": upper, "lower": lower, "relation": order},
                    Link("relation", pk, "observed order", ("trace", upper_pk)),
                    (look.record,) if look else (),
                )

    def _layers(self) -> Iterator[Item]:
        """The order of layers that are tied to traces, section by section, from the bottom up."""
        layers = (
            _standing(Layer)
            .filter(
                preparation__sample__point__face__object=self.object,
                preparation__kind__in=[
                    PreparationKind.CROSS_SECTION,
                    PreparationKind.THIN_SECTION,
                ],
                preparation__withdrawn_at__isnull=True,
                preparation__sample__withdrawn_at__isnull=True,
                preparation__sample__point__withdrawn_at__isnull=True,
                trace__isnull=False,
            )
            .order_by("preparation_id", "number")
            .values_list("pk", "trace_id", "number", "preparation_id", "preparation__number")
        )
        for _section, tied in groupby(layers, key=lambda row: row[3]):
            below: Any = None
            begun: set[int] = set()
            for row in tied:
                pk, trace_pk, number, _, section_number = row
                if trace_pk in begun or not self._known(f"trace:{trace_pk}"):
                    continue
                begun.add(trace_pk)
                if below:
                    label = f"section {section_number}, layers {below[2]} and {number}"
                    yield Item(
                        f"layers:{below[0]}-{pk}",
                        "over",
                        Strength.FIRM,
                        {
                            "upper": f"trace:{trace_pk}",
                            "lower": f"trace:{below[1]}",
                            "relation": Order.LIES_OVER.value,
                        },
                        Link("layer", pk, label),
                    )
                below = row

    def _identifications(self) -> Iterator[Item]:
        identifications = (
            accepted_identifications(self.object)
            .select_related("material", "point", "sample", "layer__preparation")
            .prefetch_related(
                Prefetch("material__dates", _standing(MaterialDate).order_by("date_earliest", "pk"))
            )
            .order_by("pk")
        )
        for one in identifications:
            if self._known(f"trace:{one.on_trace}"):
                yield from self._use_of_material(one, f"trace:{one.on_trace}")

    def _use_of_material(self, one: Identification, trace: str) -> Iterator[Item]:
        certain = Strength.TENTATIVE if one.confidence == Confidence.POSSIBLE else Strength.FIRM
        place = f"identification of {_lower(one.material.label)} in {one.target}"
        dates = list(one.material.dates.all())
        attested = [d for d in dates if d.kind == MaterialDateKind.FIRST_ATTESTED]
        for fact in dates:
            fields = {"trace": trace, "material": one.material.code, "not_before": fact.date}
            strength: str = Strength.TENTATIVE
            if fact.kind == MaterialDateKind.FIRST_ATTESTED and fact is attested[0]:
                strength = _by_date(certain, fact.date)
            elif fact.kind == MaterialDateKind.LAST_ATTESTED:
                if not attested or edtf.read(fact.date).latest is None:
                    continue
                fields |= {"not_before": attested[0].date, "not_after": fact.date}
            elif fact.kind == MaterialDateKind.COMMON_UNTIL:
                continue
            yield Item(
                f"identification:{one.pk}:{fact.kind}:{fact.pk}",
                "material",
                strength,
                fields,
                Link("identification", one.pk, place),
                (Link("material", one.material_id, one.material.label),),
                fact.source,
            )

    def _effects(self) -> Iterator[Item]:
        kinds = {
            EffectKind.PRODUCED: "made_during",
            EffectKind.REMOVED: "gone_during",
            EffectKind.ALTERED: "seen",
        }
        rows = (
            _standing(Effect)
            .filter(trace__face__object=self.object)
            .order_by("pk")
            .values_list("pk", "treatment_id", "occurrence_id", "trace_id", "kind", "strength")
        )
        for pk, treatment_pk, occurrence_pk, trace_pk, effect, strength in rows:
            trace = f"trace:{trace_pk}"
            event = f"treatment:{treatment_pk}" if treatment_pk else f"occurrence:{occurrence_pk}"
            if not self._known(trace, event):
                continue
            kind = kinds[EffectKind(effect)]
            when = {"at": event} if kind == "seen" else {"events": [event]}
            record = self.entities[event].record
            yield Item(
                f"effect:{pk}",
                kind,
                strength,
                {"trace": trace, **when},
                Link("effect", pk, record.label, (record.model, record.pk)),
            )

    def _statements(self) -> Iterator[Item]:
        statements = (
            _standing(Statement)
            .filter(object=self.object, source__withdrawn_at__isnull=True)
            .select_related("source")
            .prefetch_related(
                Prefetch("events", _standing(StatementEvent).order_by("position", "pk")),
                Prefetch("traces", _standing(StatementTrace).order_by("trace_id")),
            )
            .order_by("pk")
        )
        for statement in statements:
            yield from self._claims(statement)

    def _claims(self, statement: Statement) -> Iterator[Item]:
        events = [self._event_named(e) for e in statement.events.all()]
        traces = [f"trace:{t.trace_id}" for t in statement.traces.all()]
        record = Link("statement", statement.pk, statement.text)
        source = Link("source", statement.source_id, statement.source.title)
        if not self._known(*events, *traces):
            self.unused.append(Unused(record, "it names a record that has been withdrawn"))
            return
        claims = list(_claimed(statement, events, traces))
        if not claims:
            self.unused.append(Unused(record, "it does not name every event or trace it needs"))
        strength = (
            _by_date(statement.strength, statement.date) if statement.date else (statement.strength)
        )
        for part, fields in claims:
            name = f"statement:{statement.pk}"
            yield Item(
                f"{name}:{part}" if len(claims) > 1 else name,
                statement.kind,
                strength,
                fields,
                record,
                (source,),
                statement.text,
            )

    def _event_named(self, named: StatementEvent) -> str:
        if named.image_id:
            return self.event_of_image.get(named.image_id, "")
        arc = next(a for a in StatementEvent.ARCS if getattr(named, f"{a}_id") is not None)
        return f"{arc}:{getattr(named, f'{arc}_id')}"


def _claimed(
    statement: Statement, events: list[str], traces: list[str]
) -> Iterator[tuple[str, dict[str, Any]]]:
    """What a statement says, one claim for each trace or event that it says it of.

    Yields the entity that tells the claim from its fellows and the fields of the item; nothing when
    participants are missing.
    """
    kind = StatementKind
    match statement.kind:
        case kind.DATED_EVENT:
            yield from ((e, {"event": e, "date": statement.date}) for e in events)
        case kind.DATED_MADE | kind.DATED_GONE:
            yield from ((t, {"trace": t, "date": statement.date}) for t in traces)
        case kind.SEEN | kind.NOT_SEEN:
            yield from ((f"{t}:{e}", {"trace": t, "at": e}) for t in traces for e in events)
        case kind.MADE_DURING | kind.GONE_DURING if events:
            yield from ((t, {"trace": t, "events": events}) for t in traces)
        case kind.PRECEDES if len(events) == 2 and events[0] != events[1]:
            days = {"min_days": statement.min_days, "max_days": statement.max_days}
            given = {name: value for name, value in days.items() if value is not None}
            yield "", {"first": events[0], "second": events[1], **given}
        case kind.WITHIN if len(events) == 2 and events[0] != events[1]:
            yield "", {"inner": events[0], "outer": events[1]}
        case kind.LASTS:
            days = {"min_days": statement.min_days, "max_days": statement.max_days}
            yield from ((e, {"event": e, **days}) for e in events)
        case kind.TOGETHER if len(traces) > 1:
            yield "", {"traces": traces, "within_days": statement.within_days}
