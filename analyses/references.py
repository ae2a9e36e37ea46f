"""The department's own reference spectra: analyses whose curve is a reference for a material."""

from analyses.models import Analysis
from analyses.spectra.infrared import Measured, Reference
from analyses.spectra.readers import ColumnChoice, Unreadable, read

MEASURED = "Measured"  # “ATR”, “transmission” …, where the file does not tell
MOST = 400


def infrared_references(besides: Analysis) -> list[Reference]:
    """Reference spectra to compare an analysis with, in one query; at most the latest 400.

    A raw file that can no longer be read is left out: its own page says why.
    """
    found = (
        Analysis.objects.standing()
        .filter(reference_for__isnull=False, technique__code="ftir")
        .exclude(pk=besides.pk)
        .select_related("reference_for")
        .order_by("-pk")
    )
    curves = []
    for analysis in found[:MOST]:
        try:
            with analysis.raw_file.open("rb") as file:
                columns = ColumnChoice.from_settings(analysis.settings)
                curve = read(file.read(), str(analysis.raw_file.name), columns)
        except (Unreadable, OSError):
            continue
        material = analysis.reference_for
        assert material is not None
        curves.append(
            Reference(
                f"{material.label} (analysis {analysis.pk})",
                curve,
                material.code,
                _measured(str(analysis.settings.get(MEASURED, ""))),
            )
        )
    return curves


def _measured(word: str) -> Measured | None:
    return next((way for way in Measured if way.value.casefold() == word.strip().casefold()), None)
