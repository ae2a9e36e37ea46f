"""An object's worked-out history as a dossier tells it: dates, their grounds, what is open."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from records.choices import Trust
from records.models import Object, Reconstruction
from records.reconstruction import store
from records.reconstruction.evidence import Aside, Evidence, Item, Link, Unused
from records.reconstruction.gather import gather
from records.reconstruction.telling import Contradiction, Teller, span_in_words
from records.reconstruction.timeline import LANES, Layout, Span, dated_alike, lay_out, spans
from reports.content import Dates, WorkedOut

ROWS_ON_FIRST_PAGE, ROWS_PER_PAGE = 38, 52
DRAWN_WIDTH_PX = 1000
SELF_DATED = {"campaign", "examination"}  # they carry dates of their own


@dataclass(frozen=True)
class EventLine:
    """An event with the spans in which it began and ended, and the sentences that say why."""

    label: str
    kind: str
    words: str
    grounds: tuple[str, ...]


@dataclass
class History:
    """A reconstruction, told."""

    reconstruction: Reconstruction
    evidence: Evidence
    conflicts: list[Contradiction]
    withdrawal: list[str]
    events: list[EventLine] = field(default_factory=list)
    plain_events: int = 0
    traces: dict[int, Dates] = field(default_factory=dict)
    worked_out: dict[tuple[str, int], WorkedOut] = field(default_factory=dict)
    timelines: list[Layout] = field(default_factory=list)

    @property
    def consistent(self) -> bool:
        return bool(self.reconstruction.result["consistent"])

    @property
    def case_sha256(self) -> str:
        return self.reconstruction.case_sha256

    @property
    def engine_version(self) -> str:
        return self.reconstruction.engine_version

    @property
    def computed_at(self) -> datetime:
        return self.reconstruction.computed_at

    @property
    def trust(self) -> str:
        return self.reconstruction.get_trust_display()

    @property
    def evidence_count(self) -> int:
        return len(self.reconstruction.case["evidence"])

    @property
    def undocumented(self) -> int:
        return int(self.reconstruction.result["campaigns_needed"]["undocumented"])

    @property
    def undocumented_groups(self) -> list[tuple[str, list[str]]]:
        """Each undocumented treatment that must have been: its span, and its traces."""
        labels = {t["id"]: t["label"] for t in self.reconstruction.case["traces"]}
        return [
            (_span_words(group["window"]), [labels[trace] for trace in group["traces"]])
            for group in self.reconstruction.result["campaigns_needed"]["groups"]
        ]

    @property
    def set_aside(self) -> tuple[tuple[Aside, tuple[Item, ...]], ...]:
        return self.evidence.set_aside

    @property
    def unused(self) -> tuple[Unused, ...]:
        return self.evidence.unused

    def attachments(self) -> dict[str, bytes]:
        """The case and its result as files, so that the history can be worked out again."""
        return {
            "case.json": _json(self.reconstruction.case),
            "reconstruction.json": _json(self.reconstruction.result),
        }


def current_history(item: Object) -> History | None:
    """The kept history told, if it is that of the records as they are now."""
    evidence = gather(item)
    shown = store.shown(evidence, Trust.ALL)
    if not shown.is_current or shown.reconstruction is None:
        return None
    return tell(shown.reconstruction, evidence, timezone.localdate())


def tell(reconstruction: Reconstruction, evidence: Evidence, today: date) -> History:
    """Everything that a dossier says of a reconstruction."""
    case, result = reconstruction.case, reconstruction.result
    records = {entity.id: entity.record for entity in evidence.entities.values()}
    teller = Teller(case, evidence.items, records)
    told = History(
        reconstruction,
        evidence,
        teller.contradictions(result),
        [str(teller.sentence(item)) for item in result["withdrawal"]],
    )
    for event in case["events"]:
        bounds = result["events"][event["id"]]
        words = _event_words(bounds, instant=event["instant"])
        grounds = _grounds(teller, event["id"], result)
        if event["kind"] in SELF_DATED and len(grounds) == 1:
            told.plain_events += 1
        else:
            told.events.append(EventLine(event["label"], event["kind"], words, grounds))
        if record := records.get(event["id"]):
            told.worked_out[record.model, record.pk] = WorkedOut(
                words,
                date.fromisoformat(bounds["start"][0]),
                date.fromisoformat(bounds["end"][1]),
            )
    for trace in case["traces"]:
        bounds = result["traces"][trace["id"]]
        ended = bounds["gone"][1]
        over = ended is not None and date.fromisoformat(ended) <= today
        if record := records.get(trace["id"]):
            points = ["made", "gone"] if over else ["made"]
            told.traces[record.pk] = Dates(
                _span_words(bounds["made"]),
                _years(bounds["made"]),
                _span_words(bounds["gone"]) if over else "",
                _years(bounds["gone"]) if over else "",
                _grounds_of_it(teller, trace["id"], record, points, result),
            )
    told.timelines = _timelines(dated_alike(spans(case, result)), evidence.horizon)
    return told


def _grounds(teller: Teller, entity: str, result: Any) -> tuple[str, ...]:
    """The sentences behind all bounds of an entity, each once."""
    said = [
        str(sentence) for telling in teller.entity(entity, result) for sentence in telling.because
    ]
    return tuple(dict.fromkeys(said))


def _grounds_of_it(
    teller: Teller, trace: str, record: Link, points: Sequence[str], result: Any
) -> tuple[str, ...]:
    """The sentences behind some bounds of a trace, which is called 'it' so that traces dated
    alike can be told together."""
    said = []
    for point in points:
        for side in ("earliest", "latest"):
            for sentence in teller.bound(f"{trace}.{point}.{side}", result).because:
                words = "".join(
                    part.text if part.link != record else "it" for part in sentence.parts
                )
                said.append(words[:1].upper() + words[1:])
    return tuple(dict.fromkeys(said))


def _years(bounds: Sequence[str | None]) -> str:
    """'1951', '1951–1988' or 'from 1951 on': enough for a list."""
    first, last = (day[:4] if day else "" for day in bounds)
    if not last:
        return f"from {first} on"
    return first if first == last else f"{first}–{last}"


def _span_words(bounds: Sequence[str | None]) -> str:
    first, last = (date.fromisoformat(day) if day else None for day in bounds)
    return span_in_words(first, last)


def _event_words(bounds: Any, *, instant: bool) -> str:
    start, end = _span_words(bounds["start"]), _span_words(bounds["end"])
    if instant or start == end:
        return start
    return f"began {start}, ended {end}"


def _timelines(found: Sequence[Span], horizon: tuple[date, date]) -> list[Layout]:
    """Drawings no longer than a page each, the first shorter: it follows an introduction."""
    dated = [span.begins[0] for span in found] or [horizon[0]]
    window = (max(min(dated), horizon[0]), horizon[1])
    lanes = [lane[0] for lane in LANES]
    ordered = sorted(found, key=lambda s: (lanes.index(s.lane), *s.begins, s.ends[0], s.id))
    drawn, start, rows = [], 0, ROWS_ON_FIRST_PAGE
    while start < len(ordered):
        drawn.append(lay_out(ordered[start : start + rows], window, DRAWN_WIDTH_PX))
        start, rows = start + rows, ROWS_PER_PAGE
    return drawn


def _json(data: Any) -> bytes:
    return json.dumps(data, ensure_ascii=False, indent=1, sort_keys=True).encode()
