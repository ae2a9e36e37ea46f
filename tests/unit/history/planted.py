"""Lives of objects that are made up, and the records they might have left.

An object is damaged, treated, photographed, sampled and loses what it had; what people then write
down is less: dates grow vague, papers are lost, most marks are never tied to their treatment. The
truth is kept beside the case, so that what is worked out can be held against it.

`python -m tests.unit.history.planted` prints how much of the truth is found again.
"""

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import median
from typing import Any

from records import history
from records.reconstruction.weighing import open_share, weight

Json = dict[str, Any]
FIRST, LAST = date(1850, 1, 1), date(2026, 12, 31)
NEVER = date.max
LONGEST_TREATMENT_DAYS = 300  # shorter than an undocumented campaign may be
STRENGTHS = ("firm", "firm", "likely", "tentative")


MATERIALS = ("chalk", "gypsum", "wax", "glue", "lead white", "zinc white", "starch", "dammar")

Place = tuple[float, float]  # on a face that is 1 wide and 1 high
Area = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Span:
    start: date
    end: date

    def touches(self, life: "Span") -> bool:
        return life.start <= self.end and life.end >= self.start


@dataclass(slots=True)
class Planted:
    """The case that the records make, and the truth behind it.

    `spans` holds the documented events, `lives` the traces (made, gone); `maker` names the
    treatment that made an intervention, which is documented only when it is among the spans. What
    is recorded besides dates: where treatments were done and with what, where interventions lie and
    what was found in them.
    """

    case: Json
    spans: dict[str, Span] = field(default_factory=dict)
    lives: dict[str, Span] = field(default_factory=dict)
    maker: dict[str, str] = field(default_factory=dict)
    treated: dict[str, Area] = field(default_factory=dict)
    used: dict[str, set[str]] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    found: dict[str, str] = field(default_factory=dict)


def plant(
    seed: int,
    treatments: int = 8,
    accidents: int = 6,
    looks: int = 10,
    documented: float = 0.6,
    attributed: float = 0.4,
    sightings: float = 0.5,
) -> Planted:
    """One life; shares say how much of it was written down."""
    planted = _Life(random.Random(seed)).recorded(
        treatments, accidents, looks, documented, attributed, sightings
    )
    _work(random.Random(f"work {seed}"), planted)
    return planted


def _work(dice: random.Random, planted: Planted) -> None:
    """Where treatments were done and with what; half of it is recorded, or found by samples."""
    for treatment in dict.fromkeys(planted.maker.values()):
        left, low = dice.uniform(0, 0.6), dice.uniform(0, 0.6)
        area = left, low, left + dice.uniform(0.2, 0.4), low + dice.uniform(0.2, 0.4)
        materials = dice.sample(MATERIALS, 3)
        if treatment in planted.spans and dice.random() < 0.5:
            planted.treated[treatment] = area
        if treatment in planted.spans and dice.random() < 0.5:
            planted.used[treatment] = set(materials)
        for trace in (t for t, by in planted.maker.items() if by == treatment):
            planted.places[trace] = dice.uniform(area[0], area[2]), dice.uniform(area[1], area[3])
            if dice.random() < 0.5:
                planted.found[trace] = dice.choice(materials)


class _Life:
    def __init__(self, dice: random.Random) -> None:
        self.dice = dice
        self.planted = Planted({})
        self.events: list[Json] = []
        self.traces: list[Json] = []
        self.evidence: list[Json] = []

    def recorded(
        self,
        treatments: int,
        accidents: int,
        looks: int,
        documented: float,
        attributed: float,
        sightings: float,
    ) -> Planted:
        dice, planted = self.dice, self.planted
        for number in range(accidents):
            self._accident(f"accident{number}", documented)
        for number in range(treatments):
            self._treatment(f"treatment{number}", documented, attributed)
        for number in range(looks):
            self._look(f"look{number}", sightings)
        self._layers()
        self._order_of_events()
        dice.shuffle(self.evidence)
        planted.case = {
            "horizon": {"earliest": FIRST.isoformat(), "latest": LAST.isoformat()},
            "events": self.events,
            "traces": self.traces,
            "evidence": self.evidence,
        }
        return planted

    def _say(self, kind: str, **fields: Any) -> None:
        key = f"i{len(self.evidence)}"
        strength = self.dice.choice(STRENGTHS)
        self.evidence.append({"id": key, "kind": kind, "strength": strength, **fields})

    def _span(self, longest_days: int) -> Span:
        length = self.dice.randrange(longest_days + 1)
        start = self._day(FIRST, LAST - timedelta(days=length))
        return Span(start, start + timedelta(days=length))

    def _day(self, first: date, last: date) -> date:
        return first + timedelta(days=self.dice.randrange((last - first).days + 1))

    def _event(self, key: str, kind: str, span: Span, instant: bool = False) -> None:
        self.planted.spans[key] = span
        self.events.append({"id": key, "label": key, "kind": kind, "instant": instant})
        if self.dice.random() < 0.9:
            self._say("dated_event", event=key, date=self._written(span))

    def _trace(self, key: str, family: str, life: Span) -> None:
        self.planted.lives[key] = life
        self.traces.append({"id": key, "label": key, "family": family})

    def _written(self, span: Span) -> str:
        """The span as somebody might have noted it: true, but less exact."""
        start, end = span.start, span.end
        vague = [
            f"[{start.year},{end.year}]",
            f"{start.year}~/{end.year}~",
            f"../{end.year}",
            f"{start:%Y-%m}/..",
        ]
        if start.year // 10 == end.year // 10:
            vague.append(f"{start.year // 10}X")
        if start.year == end.year:
            vague += [str(start.year)] * 3
        exact = start.isoformat() if start == end else f"{start:%Y-%m}/{end:%Y-%m}"
        return exact if self.dice.random() < 0.4 else self.dice.choice(vague)

    def _accident(self, key: str, documented: float) -> None:
        """Something that leaves alterations behind."""
        span = self._span(3)
        is_known = self.dice.random() < documented
        if is_known:
            self._event(key, "occurrence", span)
        for number in range(self.dice.randrange(1, 5)):
            trace = f"{key}-damage{number}"
            self._trace(trace, "alteration", Span(self._day(span.start, span.end), NEVER))
            if is_known and self.dice.random() < 0.5:
                self._say("made_during", trace=trace, events=[key])

    def _treatment(self, key: str, documented: float, attributed: float) -> None:
        """An intervention that makes traces over others and takes some away."""
        dice, lives = self.dice, self.planted.lives
        span = self._span(LONGEST_TREATMENT_DAYS)
        is_known = dice.random() < documented
        if is_known:
            self._event(key, "treatment", span)
        there = [t for t, life in lives.items() if life.start < span.start and life.end == NEVER]
        for gone in dice.sample(there, min(len(there), dice.randrange(3))):
            lives[gone] = Span(lives[gone].start, self._day(span.start, span.end))
            if is_known and dice.random() < 0.6:
                self._say("gone_during", trace=gone, events=self._among(key))
        for number in range(dice.randrange(1, 6)):
            trace = f"{key}-work{number}"
            life = Span(self._day(span.start, span.end), NEVER)
            self._trace(trace, "intervention", life)
            self.planted.maker[trace] = key
            if is_known and dice.random() < attributed:
                self._say("made_during", trace=trace, events=self._among(key))
            if there and dice.random() < 0.6:
                self._say("over", upper=trace, lower=dice.choice(there), relation="lies_over")
            if dice.random() < 0.3:
                since = self._day(FIRST, life.start)
                self._say("material", trace=trace, material="paint", not_before=str(since.year))

    def _among(self, key: str) -> list[str]:
        """An event, perhaps with others that it might have been."""
        known = [k for k in self.planted.spans if k != key]
        others = self.dice.sample(known, min(len(known), self.dice.choice((0, 0, 1, 2))))
        return sorted([key, *others])

    def _look(self, key: str, sightings: float) -> None:
        """A photograph or an examination, and what it shows of each trace."""
        is_photograph = self.dice.random() < 0.5
        span = self._span(0 if is_photograph else 30)
        self._event(key, "examination", span, instant=is_photograph)
        for trace, life in self.planted.lives.items():
            if self.dice.random() > sightings:
                continue
            if span.touches(life) and self.dice.random() < 0.9:
                self._say("seen", trace=trace, at=key)
            elif life.start >= span.start or life.end <= span.end:
                self._say("not_seen", trace=trace, at=key)

    def _layers(self) -> None:
        """Cross-sections: some traces in the order in which they were made."""
        order = sorted(self.planted.lives, key=lambda trace: self.planted.lives[trace].start)
        for _ in range(4):
            tied = self.dice.sample(range(len(order)), min(len(order), 3))
            for below, above in zip(sorted(tied), sorted(tied)[1:], strict=False):
                lower, upper = order[below], order[above]
                self._say("over", upper=upper, lower=lower, relation="lies_over")

    def _order_of_events(self) -> None:
        """Letters that say what came first, how long it took, or what belongs together."""
        spans = self.planted.spans
        for _ in range(3):
            first, second = self.dice.sample(sorted(spans), 2)
            gap = (spans[second].start - spans[first].end).days
            if gap >= 0:
                most = gap + self.dice.randrange(1, 2000)
                self._say("precedes", first=first, second=second, max_days=most)
        key = self.dice.choice(sorted(spans))
        length = (spans[key].end - spans[key].start).days
        self._say("lasts", event=key, min_days=length // 2, max_days=length * 2)


@dataclass(slots=True)
class Found:
    """How much of the truth was found again, over some lives."""

    widths_years: list[float] = field(default_factory=list)
    campaigns_true: int = 0
    campaigns_needed: int = 0
    campaigns_right: int = 0
    candidates: list[int] = field(default_factory=list)
    ranks_by_dates: list[int] = field(default_factory=list)
    ranks: list[int] = field(default_factory=list)

    def add(self, planted: Planted, result: history.Reconstruction) -> None:
        for (_, point), (low, high) in result.bounds.items():
            if point == "made":
                assert low.day is not None
                assert high.day is not None
                self.widths_years.append((high.day - low.day).days / 365.25)
        tied = {i["trace"] for i in planted.case["evidence"] if i["kind"] == "made_during"}
        loose = {t: by for t, by in planted.maker.items() if t not in tied}
        unknown = {by for by in loose.values() if by not in planted.spans}
        self.campaigns_true += len(unknown)
        self.campaigns_needed += len(result.campaigns.groups)
        self.campaigns_right += sum(
            {loose[trace] for trace in group.traces} <= unknown for group in result.campaigns.groups
        )
        for trace, by in loose.items():
            if by in planted.spans:
                fits = _fits(planted, result, trace)
                self.candidates.append(len(fits))
                for ranks, number in ((self.ranks_by_dates, 0), (self.ranks, 1)):
                    ranked = sorted(fits, key=lambda key: (-fits[key][number], key))
                    ranks.append(ranked.index(by) + 1)

    def __str__(self) -> str:
        def share(ranks: list[int], most: int) -> str:
            return f"{sum(rank <= most for rank in ranks) / len(ranks):.0%}"

        return (
            f"{len(self.widths_years):,} traces: median width of the time of making"
            f" {median(self.widths_years):.1f} of {(LAST - FIRST).days / 365.25:.0f} years\n"
            f"{self.campaigns_true} undocumented campaigns: {self.campaigns_needed}"
            f" ({self.campaigns_needed / self.campaigns_true:.0%}) are proved to be needed,"
            f" {self.campaigns_right} of these with none but traces of such campaigns\n"
            f"{len(self.ranks)} traces without their treatment, {median(self.candidates):.0f}"
            " known treatments each (median): the right one is first for"
            f" {share(self.ranks, 1)} and among the first three for {share(self.ranks, 3)};"
            f" by dates alone {share(self.ranks_by_dates, 1)} and {share(self.ranks_by_dates, 3)}"
        )


def _fits(
    planted: Planted, result: history.Reconstruction, trace: str
) -> dict[str, tuple[float, float]]:
    """How well each documented treatment fits a trace: by dates alone, and by all that is known."""
    fits = {}
    for key in (k for k, event in result.case.events.items() if event.kind == "treatment"):
        time = open_share(_days(result, trace, "made", "made"), _days(result, key, "start", "end"))
        place = material = None
        if key in planted.treated:
            (x, y), (left, low, right, high) = planted.places[trace], planted.treated[key]
            place = float(left <= x <= right and low <= y <= high)
        if key in planted.used and trace in planted.found:
            material = float(planted.found[trace] in planted.used[key])
        fits[key] = time, weight(time, place, material)
    return fits


def _days(result: history.Reconstruction, key: str, first: str, last: str) -> tuple[date, date]:
    found = result.bounds[key, first][0].day, result.bounds[key, last][1].day
    assert found[0] is not None
    assert found[1] is not None
    return found[0], found[1]


def figures(seeds: range, **shares: Any) -> Found:
    found = Found()
    for seed in seeds:
        planted = plant(seed, **shares)
        found.add(planted, history.solve(history.Case.from_json(planted.case)))
    return found


SPARSE: dict[str, Any] = {}
RICH: dict[str, Any] = {"looks": 25, "documented": 0.8, "sightings": 0.9}


if __name__ == "__main__":
    print(f"Sparse records\n{figures(range(200), **SPARSE)}")
    print(f"\nRich records\n{figures(range(200), **RICH)}")
