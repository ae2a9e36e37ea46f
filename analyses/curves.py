"""Raw files of analyses as curves: read with the choice of columns that a person has made."""

from typing import Any

from analyses.models import Analysis
from analyses.spectra.curve import Axis, Curve
from analyses.spectra.readers import ChoiceNeeded, ColumnChoice, Preview, Unreadable, preview, read

# What the curves of a technique lie over; a file over something else belongs elsewhere.
OVER = {
    "xrf": {Axis.ENERGY},
    "sem_edx": {Axis.ENERGY},
    "xrd": {Axis.TWO_THETA, Axis.SPACING},
    "ftir": {Axis.WAVENUMBER},
    "raman": {Axis.WAVENUMBER},
    "fors": {Axis.WAVELENGTH},
}


class CurveError(ValueError):
    """A raw file is no curve; the message says where and what to do.

    `choose` is true when nothing is amiss but a person must say which columns are meant.
    """

    def __init__(self, words: str, choose: bool = False) -> None:
        super().__init__(words)
        self.choose = choose


def has_curve(analysis: Analysis) -> bool:
    """Whether a raw file is kept, of a technique that measures curves."""
    return bool(analysis.raw_file) and analysis.technique.code in OVER


def with_curves(analyses: Any) -> Any:
    """Those of some analyses that stand and keep a curve."""
    return analyses.filter(withdrawn_at=None, technique__code__in=OVER).exclude(raw_file="")


def curve_of(analysis: Analysis) -> Curve:
    """The raw file of an analysis as a curve. Raises CurveError when it cannot be read."""
    columns = ColumnChoice.from_settings(analysis.settings)
    try:
        return read(_bytes(analysis), str(analysis.raw_file.name), columns)
    except Unreadable as error:
        raise CurveError(str(error), isinstance(error, ChoiceNeeded)) from error


def table_of(analysis: Analysis, columns: ColumnChoice | None = None) -> Preview | None:
    """The raw file as a table to choose columns of; None when its format names its axes itself.

    Raises CurveError when it is no table either.
    """
    try:
        return preview(_bytes(analysis), str(analysis.raw_file.name), columns)
    except Unreadable as error:
        raise CurveError(str(error)) from error


def _bytes(analysis: Analysis) -> bytes:
    if not analysis.raw_file:
        raise CurveError("No raw file is kept with this analysis: add it first.")
    with analysis.raw_file.open("rb") as file:
        data: bytes = file.read()
    return data


def misplaced(technique: Any, curve: Curve) -> str:
    """Why a curve cannot be of a technique: it lies over another technique's axis; '' if it can."""
    expected = OVER.get(technique.code, set())
    if not expected or curve.x_unit not in set().union(*OVER.values()) - expected:
        return ""
    return (
        f"is a curve over {curve.x_unit}; {technique} gives one over {_over(technique)}. Is it the "
        "right file, or the wrong technique?"
    )


def _over(technique: Any) -> str:
    return " or ".join(sorted(OVER[technique.code]))


def unclear(technique: Any, curve: Curve) -> str:
    """Why a curve cannot be evaluated as it was read; '' when it can."""
    if words := misplaced(technique, curve):
        return f"The file {words}"
    if curve.x_unit in OVER.get(technique.code, {curve.x_unit}):
        return ""
    said = f"names “{curve.x_unit}”" if curve.x_unit else "names no unit"
    return f"The file {said} for the axis of its places, which should lie over {_over(technique)}."


def in_words(curve: Curve) -> str:
    """'JCAMP-DX: 1868 values, 400 to 4000 cm⁻¹, absorbance'."""
    unit = curve.x_unit or "(no unit)"
    values = f", {curve.y_unit}" if curve.y_unit else ""
    ends = f"{curve.x[0]:.5g} to {curve.x[-1]:.5g}"
    return f"{curve.format}: {len(curve.x)} values, {ends} {unit}{values}"
