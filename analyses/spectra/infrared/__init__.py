"""Infrared spectra: from a curve as measured to bands, what they are assigned to, and the doubt.

`preparation` brings every way of measuring to something like absorbance, `bands` finds bands and
what comes of the air, `groups` holds the table that they are compared with, `references` compares
whole spectra with the department's own, `evaluation` puts it together.
"""

from analyses.spectra.infrared.evaluation import VERSION, InfraredSettings, evaluate
from analyses.spectra.infrared.groups import Group, groups, materials_of
from analyses.spectra.infrared.preparation import Measured, UnsuitableCurve
from analyses.spectra.infrared.references import Hit, Reference, compare

__all__ = [
    "VERSION",
    "Group",
    "Hit",
    "InfraredSettings",
    "Measured",
    "Reference",
    "UnsuitableCurve",
    "compare",
    "evaluate",
    "groups",
    "materials_of",
]
