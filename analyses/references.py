"""The department's own reference spectra: infrared analyses that say which material they are of.

An analysis is a reference when its settings name a material under `REFERENCE_FOR`; the spectrum is
its raw file. People type it there, or bring many in with the column `reference_for` of a batch.
"""

from analyses.imports.known import words_for
from analyses.imports.raw_files import REFERENCE_FOR
from analyses.models import Analysis
from analyses.spectra.infrared import Measured, Reference
from analyses.spectra.readers import ColumnChoice, Unreadable, read
from records.models import Material

MEASURED = "Measured"  # “ATR”, “transmission” …, where the file does not tell
MOST = 400


def infrared_references(besides: Analysis) -> list[Reference]:
    """Reference spectra to compare an analysis with, in three queries; at most the latest 400.

    A raw file that can no longer be read is left out: its own page says why.
    """
    found = (
        Analysis.objects.filter(
            technique__code="ftir", withdrawn_at=None, settings__has_key=REFERENCE_FOR
        )
        .exclude(raw_file="")
        .exclude(pk=besides.pk)
        .order_by("-pk")[:MOST]
    )
    materials = words_for(Material, "code", "label")
    references = []
    for analysis in found:
        named = str(analysis.settings[REFERENCE_FOR]).strip()
        material = materials.get(named.casefold())
        try:
            with analysis.raw_file.open("rb") as file:
                columns = ColumnChoice.from_settings(analysis.settings)
                curve = read(file.read(), str(analysis.raw_file.name), columns)
        except (Unreadable, OSError):
            continue
        references.append(
            Reference(
                f"{material.label if material else named} (analysis {analysis.pk})",
                curve,
                material.code if material else "",
                _measured(str(analysis.settings.get(MEASURED, ""))),
            )
        )
    return references


def _measured(word: str) -> Measured | None:
    return next((way for way in Measured if way.value.casefold() == word.strip().casefold()), None)
