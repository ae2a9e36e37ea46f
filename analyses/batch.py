"""Many analyses evaluated at once with the usual settings, and what came of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from analyses.choices import Certainty
from analyses.evaluating import ask, can_be_evaluated
from analyses.models import Analysis, Evaluation
from records.models import User


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the latest evaluation of a raw file found, as words by certainty, the surest first."""

    waits: bool
    error: str
    found: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        if self.waits:
            return "waits to be evaluated"
        told = "; ".join(f"{certainty}: {names}" for certainty, names in self.found)
        return self.error or told or "nothing found"


def outcomes(analyses: Sequence[Analysis]) -> dict[int, Outcome]:
    """The outcome of the latest evaluation of each that has one, by key; one query."""
    latest = (
        Evaluation.objects.filter(analysis__in=analyses)
        .order_by("analysis_id", "-pk")
        .distinct("analysis_id")
        .values_list("analysis_id", "done_at", "error", "result__findings")
    )
    return {
        key: Outcome(done_at is None, error, _by_certainty(findings or []))
        for key, done_at, error, findings in latest
    }


def _by_certainty(findings: list[dict[str, Any]]) -> tuple[tuple[str, str], ...]:
    named = {
        certainty.value: ", ".join(
            finding["code"] if finding["kind"] == "element" else finding["label"]
            for finding in findings
            if finding["certainty"] == certainty
        )
        for certainty in Certainty
    }
    return tuple((certainty, names) for certainty, names in named.items() if names)


def open_to_evaluation(analyses: Sequence[Analysis]) -> list[Analysis]:
    """Those of them whose raw file can be evaluated and never was."""
    done = set(
        Evaluation.objects.filter(analysis__in=analyses).values_list("analysis_id", flat=True)
    )
    return [
        analysis
        for analysis in analyses
        if can_be_evaluated(analysis)
        and analysis.pk not in done
        and not (analysis.is_withdrawn or analysis.signed_at)
    ]


def ask_for_all(analyses: Sequence[Analysis], user: User) -> int:
    """Put an evaluation of each that is open to one into the queue; how many."""
    wanted = open_to_evaluation(analyses)
    with transaction.atomic():
        for analysis in wanted:
            ask(analysis, {}, user)
    return len(wanted)
