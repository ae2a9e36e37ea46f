"""Random cases for the engine: small spans of time, so that items meet and contradict often.

Half of them lie within one year; the others are spread over five and tell of repairs, so that these
may need several undocumented campaigns.
"""

from typing import Any

from hypothesis import strategies as st

FIRST = 1900


def days(last: int) -> st.SearchStrategy[str]:
    year, month, day = st.integers(FIRST, last), st.integers(1, 12), st.integers(1, 28)
    return st.builds("{}-{:02}-{:02}".format, year, month, day)


def dates(last: int) -> st.SearchStrategy[str]:
    """Dates of most forms that the engine reads, until the end of a year or open."""
    month = st.builds("{}-{:02}".format, st.integers(FIRST, last), st.integers(1, 12))
    season = st.builds("{}-{}".format, st.integers(FIRST, last), st.integers(21, 23))
    single = st.one_of(days(last), month, season, st.builds("{}~".format, days(last)))
    pair = st.one_of(st.tuples(days(last), days(last)), st.tuples(month, month)).map(sorted)
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
    repairs = draw(st.booleans())
    last = FIRST + 4 * repairs
    families = ["intervention"] * (1 + 5 * repairs) + ["alteration", "making"]
    events = [
        {
            "id": f"E{n}",
            "kind": draw(st.sampled_from(["treatment", "occurrence", "examination"])),
            "instant": draw(st.booleans()),
        }
        for n in range(draw(st.integers(1, most_events)))
    ]
    traces = [
        {"id": f"T{n}", "family": draw(st.sampled_from(families))}
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
    if repairs:
        kinds += ["dated_made"] * 5
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
        if draw(st.integers(0, 9)) == 9:
            item["weight"] = draw(st.integers(1, 20))
        if kind == "dated_event":
            item |= {"event": draw(event), "date": draw(dates(last))}
        elif kind in {"dated_made", "dated_gone"}:
            item |= {"trace": draw(trace), "date": draw(dates(last))}
        elif kind in {"seen", "not_seen"}:
            item |= {"trace": draw(trace), "at": draw(event)}
            left_open += kind == "not_seen"
        elif kind in {"made_during", "gone_during"}:
            named = draw(st.lists(event, min_size=1, max_size=3, unique=True))
            item |= {"trace": draw(trace), "events": named}
            left_open += len(named) > 1
        elif kind == "material":
            item |= {"trace": draw(trace), "material": "m", "not_before": draw(days(last))}
            if draw(st.booleans()):
                item["not_after"] = draw(days(last))
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
            close = draw(st.lists(trace, min_size=2, max_size=4, unique=True))
            item |= {"traces": close, "within_days": draw(st.integers(0, 60))}
        if left_open > most_open:
            break
        evidence.append(item)
    horizon = {"earliest": f"{FIRST}-01-01", "latest": f"{last}-12-31"}
    return {"horizon": horizon, "events": events, "traces": traces, "evidence": evidence}
