"""The worked example of R. Dechter, I. Meiri, J. Pearl, 'Temporal constraint networks', Artificial
Intelligence 49 (1991): John and Fred go to work. Minutes after 7:00 are told as days.

John left between 7:10 and 7:20; Fred arrived between 8:00 and 8:10; John arrived 10 to 20 minutes
after Fred left. The simple problem: John drove (30 to 40 minutes), Fred was in a carpool (40 to
50). With alternatives: John may have taken the bus (60 or more), Fred may have driven (20 to 30).
"""

from datetime import date, timedelta
from typing import Any

from records import history

SEVEN = date(1900, 6, 1)
Json = dict[str, Any]


def at(minutes: int) -> str:
    return (SEVEN + timedelta(days=minutes)).isoformat()


def item(key: str, kind: str, **fields: Any) -> Json:
    return {"id": key, "kind": kind, "strength": "firm", **fields}


def window(key: str, after: str, least: int, most: int) -> list[Json]:
    """An event that spans the minutes from `least` to `most` after an instant."""
    return [
        item(f"{key} begins", "precedes", first=after, second=key, min_days=least, max_days=least),
        item(f"{key} lasts", "lasts", event=key, min_days=most - least, max_days=most - least),
    ]


def problem(john: list[str], fred: list[str]) -> history.Case:
    """The case with the ways in which John and Fred may have gone."""
    spans = {"car": (30, 40), "bus": (60, 300), "drive": (20, 30), "pool": (40, 50)}
    ways = [(way, "john leaves") for way in john] + [(way, "fred leaves") for way in fred]
    evidence = [
        item("a", "dated_event", event="john leaves", date=f"[{at(10)},{at(20)}]"),
        item("b", "dated_made", trace="fred arrives", date=f"[{at(60)},{at(70)}]"),
        item("c", "made_during", trace="john arrives", events=["soon"]),
        item("d", "made_during", trace="john arrives", events=john),
        item("e", "made_during", trace="fred arrives", events=fred),
        *window("soon", "fred leaves", 10, 20),
    ]
    for way, leaving in ways:
        evidence += window(way, leaving, *spans[way])
    instants = [{"id": f"{who} leaves", "instant": True} for who in ("john", "fred")]
    return history.Case.from_json(
        {
            "horizon": {"earliest": "1900-01-01", "latest": "1902-12-31"},
            "events": [*instants, {"id": "soon"}, *({"id": way} for way, _ in ways)],
            "traces": [{"id": f"{who} arrives"} for who in ("john", "fred")],
            "evidence": evidence,
        }
    )


def minutes(result: history.Reconstruction) -> dict[str, tuple[int, int]]:
    found = {}
    for who in ("john", "fred"):
        for name, point in [(f"{who} leaves", "start"), (f"{who} arrives", "made")]:
            low, high = (bound.day for bound in result.bounds[name, point])
            assert low is not None
            assert high is not None
            found[name] = ((low - SEVEN).days, (high - SEVEN).days)
    return found


def test_the_minimal_network_of_the_simple_problem_is_found() -> None:
    # The paper's first row and column of shortest distances: 20 50 30 70 and -10 -40 -20 -60.
    assert minutes(history.solve(problem(["car"], ["pool"]))) == {
        "john leaves": (10, 20),
        "john arrives": (40, 50),
        "fred leaves": (20, 30),
        "fred arrives": (60, 70),
    }


def test_with_alternatives_the_bounds_span_every_way_that_can_be() -> None:
    # By hand from the paper's constraints: the bus fits only just (leaving at 7:10, arriving at
    # 8:10, Fred leaving at 7:50 and driving); driving and driving gives Fred 7:30 to 7:50.
    assert minutes(history.solve(problem(["car", "bus"], ["drive", "pool"]))) == {
        "john leaves": (10, 20),
        "john arrives": (40, 70),
        "fred leaves": (20, 50),
        "fred arrives": (60, 70),
    }


def test_the_bus_and_the_carpool_contradict_each_other() -> None:
    result = history.solve(problem(["bus"], ["pool"]))
    assert not result.consistent
