"""Random cases for the engine: small spans of time, so that items meet and contradict often."""

from typing import Any

from hypothesis import strategies as st

HORIZON = {"earliest": "1900-01-01", "latest": "1900-12-31"}


def days() -> st.SearchStrategy[str]:
    return st.builds("1900-{:02}-{:02}".format, st.integers(1, 12), st.integers(1, 28))


def dates() -> st.SearchStrategy[str]:
    """Dates of most forms that history.md names, within a year or open."""
    month = st.builds("1900-{:02}".format, st.integers(1, 12))
    season = st.sampled_from(["1900-21", "1900-22", "1900-23"])
    single = st.one_of(days(), month, season, st.builds("{}~".format, days()))
    pair = st.tuples(days(), days()).map(sorted)
    return st.one_of(
        single,
        st.builds("{}?".format, month),
        pair.map("/".join),
        st.builds("../{}".format, month),
        st.builds("{}/..".format, month),
        pair.map(lambda two: f"[{two[0]},{two[1]}]"),
    )


@st.composite
def cases(
    draw: st.DrawFn, most_events: int = 12, most_traces: int = 15, most_open: int = 6
) -> dict[str, Any]:
    """A case; at most `most_open` of its items leave alternatives open."""
    events = [
        {
            "id": f"E{n}",
            "kind": draw(st.sampled_from(["treatment", "occurrence", "examination"])),
            "instant": draw(st.booleans()),
        }
        for n in range(draw(st.integers(1, most_events)))
    ]
    traces = [
        {"id": f"T{n}", "family": draw(st.sampled_from(["alteration", "intervention", "making"]))}
        for n in range(draw(st.integers(1, most_traces)))
    ]
    event = st.sampled_from([e["id"] for e in events])
    trace = st.sampled_from([t["id"] for t in traces])
    two_events = st.permutations([e["id"] for e in events]).map(lambda p: p[:2])
    two_traces = st.permutations([t["id"] for t in traces]).map(lambda p: p[:2])
    kinds = [
        "dated_event",
        "dated_event",
        "dated_made",
        "dated_gone",
        "seen",
        "seen",
        "not_seen",
        "not_seen",
        "made_during",
        "gone_during",
        "material",
        "lasts",
    ]
    if len(events) > 1:
        kinds += ["precedes", "within", "made_during"]
    if len(traces) > 1:
        kinds += ["over", "over", "together"]
    evidence = []
    left_open = 0
    for n in range(draw(st.integers(0, 25))):
        kind = draw(st.sampled_from(kinds))
        item: dict[str, Any] = {
            "id": f"i{n}",
            "kind": kind,
            "strength": draw(st.sampled_from(["firm", "likely", "tentative"])),
        }
        if kind == "dated_event":
            item |= {"event": draw(event), "date": draw(dates())}
        elif kind in {"dated_made", "dated_gone"}:
            item |= {"trace": draw(trace), "date": draw(dates())}
        elif kind in {"seen", "not_seen"}:
            item |= {"trace": draw(trace), "at": draw(event)}
            left_open += kind == "not_seen"
        elif kind in {"made_during", "gone_during"}:
            named = draw(st.lists(event, min_size=1, max_size=3, unique=True))
            item |= {"trace": draw(trace), "events": named}
            left_open += len(named) > 1
        elif kind == "material":
            item |= {"trace": draw(trace), "material": "m", "not_before": draw(days())}
            if draw(st.booleans()):
                item["not_after"] = draw(days())
        elif kind == "lasts":
            least, most = sorted(draw(st.tuples(st.integers(0, 90), st.integers(0, 90))))
            item |= {"event": draw(event), "min_days": least, "max_days": most}
        elif kind == "precedes":
            first, second = draw(two_events)
            item |= {"first": first, "second": second}
            if draw(st.booleans()):
                item["min_days"] = draw(st.integers(0, 60))
            if draw(st.booleans()):
                item["max_days"] = item.get("min_days", 0) + draw(st.integers(0, 60))
        elif kind == "within":
            inner, outer = draw(two_events)
            item |= {"inner": inner, "outer": outer}
        elif kind == "over":
            upper, lower = draw(two_traces)
            item |= {"upper": upper, "lower": lower, "relation": "lies_over"}
        else:
            item |= {"traces": draw(two_traces), "within_days": draw(st.integers(0, 60))}
        if left_open > most_open:
            break
        evidence.append(item)
    return {"horizon": HORIZON, "events": events, "traces": traces, "evidence": evidence}
