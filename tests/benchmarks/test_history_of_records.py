"""The demo's history from the database, end to end, against the pure solve of the same case."""

from collections.abc import Callable
from time import perf_counter

from records.history import Case, solve
from records.reconstruction.evidence import sha256
from records.reconstruction.gather import gather
from tests.demo import CANVAS, DemoRecords

ROUNDS = 5


def least_seconds(work: Callable[[], object]) -> float:
    """The shortest of a few rounds: the one that other work on the machine disturbed least."""
    found = []
    for _ in range(ROUNDS):
        began = perf_counter()
        work()
        found.append(perf_counter() - began)
    return min(found)


class TestHistoryOfRecords(DemoRecords):
    def test_end_to_end_costs_less_than_ten_solves(self) -> None:
        item = self.objects[CANVAS]
        case = Case.from_json(gather(item).case())

        def end_to_end() -> None:
            gathered = gather(item).case()
            sha256(gathered)
            solve(Case.from_json(gathered)).to_json()

        ratio = least_seconds(end_to_end) / least_seconds(lambda: solve(case))
        assert ratio < 10, f"{ratio:.1f} times the pure solve"
