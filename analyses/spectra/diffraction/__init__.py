"""Phases from powder diffraction patterns, as pure computation: no Django here."""

from analyses.spectra.diffraction.evaluate import DiffractionSettings, evaluate
from analyses.spectra.diffraction.reference import Phase, phases

__all__ = ["DiffractionSettings", "Phase", "evaluate", "phases"]
