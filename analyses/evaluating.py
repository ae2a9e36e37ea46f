"""Raw files read and evaluated: which reader and which method belong to an analysis.

What is computed stands in `analyses.spectra`; here it is asked for, done by the task queue, kept,
and turned into readings when a person takes them.
"""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from django.utils import timezone

from analyses.choices import ReadingKind
from analyses.curves import curve_of
from analyses.models import Analysis, Evaluation, Reading
from analyses.references import infrared_references
from analyses.spectra import diffraction, infrared, xray
from analyses.spectra import findings as told
from analyses.spectra.curve import Curve
from records.changes import change
from records.models import User

KINDS = {"element": ReadingKind.ELEMENT, "phase": ReadingKind.PHASE}
METHODS = ("xrf", "sem_edx", "xrd", "ftir")
MOST_OF_BACKGROUND = 600  # values kept


class EvaluationError(ValueError):
    """Nothing can be computed; the message says why and what to do."""


def can_be_evaluated(analysis: Analysis) -> bool:
    """Whether there is a raw file, of a technique that the program can evaluate."""
    return bool(analysis.raw_file) and analysis.technique.code in METHODS


def compute(analysis: Analysis, given: dict[str, Any]) -> told.Evaluation:
    """Evaluate the raw file by the method of its technique, with the settings given."""
    code = analysis.technique.code
    try:
        curve = curve_of(analysis)
        if code in ("xrf", "sem_edx"):
            usual = xray.XraySettings.xrf if code == "xrf" else xray.XraySettings.sem_edx
            return xray.evaluate(curve, usual(**_xray(curve, given)))
        if code == "xrd":
            chosen = diffraction.DiffractionSettings(**_diffraction(curve, given))
            return diffraction.evaluate(curve, chosen)
        if code == "ftir":
            chosen_way = infrared.InfraredSettings(**_infrared(given))
            return infrared.evaluate(curve, chosen_way, infrared_references(analysis))
    except ValueError as error:
        raise EvaluationError(str(error)) from error
    raise EvaluationError(f"The program has no method for {analysis.technique.label.lower()}.")


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _xray(curve: Curve, given: dict[str, Any]) -> dict[str, Any]:
    chosen = dict(given)
    energy = _number(curve.told.get("beam_energy", ""))
    if "voltage_kv" not in chosen and energy:
        chosen["voltage_kv"] = energy
    if isinstance(chosen.get("coating"), list):
        chosen["coating"] = tuple(chosen["coating"])
    return chosen


def _diffraction(curve: Curve, given: dict[str, Any]) -> dict[str, Any]:
    chosen = dict(given)
    wavelength = _number(curve.told.get("wavelength", ""))
    if "wavelength" not in chosen and "anode" not in chosen and wavelength:
        chosen["wavelength"] = wavelength
    if isinstance(chosen.get("elements"), list):
        chosen["elements"] = tuple(chosen["elements"])
    return chosen


def _infrared(given: dict[str, Any]) -> dict[str, Any]:
    chosen = dict(given)
    if chosen.get("measured"):
        chosen["measured"] = infrared.Measured(chosen["measured"])
    return chosen


def ask(analysis: Analysis, given: dict[str, Any], user: User | None) -> Evaluation:
    """Put an evaluation into the queue."""
    from analyses.tasks import evaluate_raw_file

    evaluation = Evaluation.objects.create(
        analysis=analysis, raw_sha256=analysis.raw_sha256, given=given, asked_by=user
    )
    evaluate_raw_file.defer(evaluation_id=evaluation.pk)
    return evaluation


def carry_out(evaluation: Evaluation) -> None:
    """Compute what was asked for and keep it; doing it again gives the same again."""
    try:
        found = compute(evaluation.analysis, evaluation.given)
    except EvaluationError as error:
        evaluation.error = str(error)
    else:
        evaluation.method, evaluation.version = found.method, found.version
        evaluation.result, evaluation.error = plain(found), ""
    evaluation.done_at = timezone.now()
    evaluation.save()


def plain(found: told.Evaluation) -> dict[str, Any]:
    """An evaluation as plain data; of the background, which is smooth, enough to draw it."""
    data = asdict(found)
    under = found.background
    data["background"] = [float(f"{value:.6g}") for value in under[:: every(len(under))]]
    return data


def every(count: int) -> int:
    """Of so many values of a background each how manieth is kept."""
    return max(1, -(-count // MOST_OF_BACKGROUND))


def codes_taken(evaluation: Evaluation) -> set[str]:
    """Codes of the findings that stand as readings already."""
    standing = evaluation.readings.filter(withdrawn_at__isnull=True)
    return set(standing.values_list("code", flat=True))


def take(evaluation: Evaluation, codes: Iterable[str], user: User) -> list[Reading]:
    """Make readings of the findings that a person has ticked; one already taken is left.

    Of two that say the same, as bands and a reference of one material may, the surer is taken.
    """
    wanted = set(codes)
    taken = codes_taken(evaluation)
    made = []
    with change(user=user, why=f"Taken from the evaluation by {evaluation.method}."):
        for finding in (evaluation.result or {}).get("findings", []):
            if finding["code"] in wanted - taken:
                made.append(
                    Reading.objects.create(
                        analysis=evaluation.analysis,
                        evaluation=evaluation,
                        kind=KINDS.get(finding["kind"], ReadingKind.BAND),
                        label=_label(finding)[:200],
                        code=finding["code"][:40],
                        certainty=finding["certainty"],
                        note=" ".join([*finding["grounds"], *finding["against"]]),
                    )
                )
                taken.add(finding["code"])
    return made


def _label(finding: dict[str, Any]) -> str:
    """Elements go by their symbols, as people write them down."""
    return str(finding["code"] if finding["kind"] == "element" else finding["label"])
