"""What is wrong with a file, told by the place in it. No Django here."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend, or, when it does not stop the import, to know."""

    place: str
    words: str
    stops: bool = True

    def __str__(self) -> str:
        return f"{self.place}: {self.words}"


class Refused(Exception):  # noqa: N818 - the refusal is an outcome that callers tell, not a fault
    """Nothing was written, because of these problems."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(map(str, self.problems)))


def nearest(word: str, known: Iterable[str]) -> str:
    """'; nearest: crack' when a known word is spelled much like the given one, else ''."""
    spelled = {name.casefold(): name for name in known}
    found = get_close_matches(word.casefold(), spelled, n=1, cutoff=0.6)
    return f"; nearest: {spelled[found[0]]}" if found else ""
