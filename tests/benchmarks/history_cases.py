"""Large cases of a fixed shape, made from a seed, for measuring the engine."""

import random
from datetime import date, timedelta
from typing import Any

FIRST, LAST = date(1890, 1, 1), date(2026, 12, 31)


def large_case(
    traces: int = 10_000,
    events: int = 500,
    items: int = 60_000,
    alternatives: int = 0,
    seed: int = 7,
) -> dict[str, Any]:
    """A consistent case: evidence is drawn from a life that is made up first.

    `alternatives` items with more than one branch come on top of `items`.
    """
    dice = random.Random(seed)
    length = (LAST - FIRST).days
    kinds = ["treatment", "occurrence", "examination"]
    event_rows: list[dict[str, Any]] = []
    trace_rows: list[dict[str, Any]] = []
    evidence: list[dict[str, Any]] = []
    spans: list[tuple[int, int]] = []
    for n in range(events):
        instant = n % 3 == 2
        start = dice.randrange(length - 400)
        end = start if instant else start + dice.randrange(1, 400)
        spans.append((start, end))
        event_rows.append({"id": f"e{n}", "kind": kinds[n % 3], "instant": instant})
    lives: list[tuple[int, int]] = []
    for n in range(traces):
        made = dice.randrange(length)
        gone = made + dice.randrange(2 * length)
        lives.append((made, gone))
        family = ("alteration", "intervention", "making")[n % 3]
        trace_rows.append({"id": f"t{n}", "family": family})

    def add(kind: str, **fields: Any) -> None:
        strength = dice.choice(["firm", "likely", "tentative"])
        evidence.append({"id": f"i{len(evidence)}", "kind": kind, "strength": strength, **fields})

    def iso(days: int) -> str:
        return (FIRST + timedelta(days=days)).isoformat()

    for n, (start, end) in enumerate(spans):
        slack = dice.randrange(0, 900)
        first, last = max(0, start - slack), min(length, end + slack)
        add("dated_event", event=f"e{n}", date=f"[{iso(first)},{iso(last)}]")
    by_trace: list[list[int]] = [
        [e for e in dice.sample(range(events), 6) if made <= spans[e][1] and gone >= spans[e][0]]
        for made, gone in lives
    ]
    while len(evidence) < items:
        n = dice.randrange(traces)
        made, gone = lives[n]
        match dice.randrange(4):
            case 0 | 1 if by_trace[n]:
                add("seen", trace=f"t{n}", at=f"e{dice.choice(by_trace[n])}")
            case 2:
                other = dice.randrange(traces)
                if other != n and lives[other][0] <= made:
                    add("over", upper=f"t{n}", lower=f"t{other}", relation="lies_over")
            case 3 if dice.random() < 0.1:
                add("material", trace=f"t{n}", material="m", not_before=iso(made // 2))
    inside: dict[int, list[int]] = {}
    while len(evidence) < items + alternatives:
        n = dice.randrange(traces)
        made, gone = lives[n]
        if dice.random() < 0.5:
            e = dice.randrange(events)
            if made >= spans[e][0] or gone <= spans[e][1]:
                add("not_seen", trace=f"t{n}", at=f"e{e}")
        else:
            if n not in inside:
                inside[n] = [e for e in range(events) if spans[e][0] <= made <= spans[e][1]]
            if inside[n]:
                named = {dice.choice(inside[n]), dice.randrange(events), dice.randrange(events)}
                if len(named) > 1:
                    add("made_during", trace=f"t{n}", events=sorted(f"e{e}" for e in named))
    return {
        "horizon": {"earliest": FIRST.isoformat(), "latest": LAST.isoformat()},
        "events": event_rows,
        "traces": trace_rows,
        "evidence": evidence,
    }
