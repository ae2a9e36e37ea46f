"""X-ray spectra: from counts to the elements that sent them, with the doubt left in."""

from analyses.spectra.xray.evaluation import evaluate
from analyses.spectra.xray.lines import Line, lines_of
from analyses.spectra.xray.settings import XraySettings

__all__ = ["Line", "XraySettings", "evaluate", "lines_of"]
