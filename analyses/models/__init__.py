from analyses.models.evaluations import Evaluation
from analyses.models.links import IdentificationReading
from analyses.models.results import Analysis, Identification, Reading
from analyses.models.sampling import (
    Layer,
    NumberingRule,
    Preparation,
    Sample,
    SamplingPoint,
)

__all__ = [
    "Analysis",
    "Evaluation",
    "Identification",
    "IdentificationReading",
    "Layer",
    "NumberingRule",
    "Preparation",
    "Reading",
    "Sample",
    "SamplingPoint",
]
