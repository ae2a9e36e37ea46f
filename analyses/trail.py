"""Where the records of the laboratory belong, told to the trail that all pages share."""

from analyses.models import (
    Analysis,
    Identification,
    Layer,
    NumberingRule,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.trail import ABOVE, ROOMS, SIGNED_WITH

ABOVE.update(
    {
        Analysis: ("layer", "sample", "point"),
        Identification: ("layer", "sample", "point"),
        Layer: ("preparation",),
        NumberingRule: ("object",),
        Preparation: ("sample",),
        Reading: ("analysis",),
        Sample: ("point",),
        SamplingPoint: ("face",),
    }
)
ROOMS.update(
    dict.fromkeys(
        (
            *(Analysis, Identification, Layer, NumberingRule),
            *(Preparation, Reading, Sample, SamplingPoint),
        ),
        "laboratory",
    )
)
SIGNED_WITH.add(Reading)
