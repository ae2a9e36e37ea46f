"""Closed lists of the laboratory."""

from django.db.models import TextChoices


class PreparationKind(TextChoices):
    CROSS_SECTION = "cross_section", "Cross-section"
    THIN_SECTION = "thin_section", "Thin section"
    POWDER = "powder", "Powder mount"
    FIBRE = "fibre", "Fibre mount"
    OTHER = "other", "Other preparation"


THICKEST_UM = 100_000  # of a layer, a decimetre: more is a slip of the unit
UNLAYERED = (PreparationKind.POWDER, PreparationKind.FIBRE)


class ReadingKind(TextChoices):
    ELEMENT = "element", "Element"
    PEAK = "peak", "Peak"
    PHASE = "phase", "Phase"
    BAND = "band", "Band"
    OBSERVATION = "observation", "Observation"


class Amount(TextChoices):
    """How much of what was read; words, because an uncalibrated reading gives no fractions."""

    MAJOR = "major", "major"
    MINOR = "minor", "minor"
    TRACE = "trace", "trace"
    UNSTATED = "", "not stated"


class Certainty(TextChoices):
    """How far a reading computed from raw data can be trusted (analyses/spectra/findings.py)."""

    SURE = "sure", "sure"
    LIKELY = "likely", "likely"
    POSSIBLE = "possible", "possible"


class Confidence(TextChoices):
    CERTAIN = "certain", "Certain"
    PROBABLE = "probable", "Probable"
    POSSIBLE = "possible", "Possible"


class Decision(TextChoices):
    PROPOSED = "proposed", "Proposed"
    ACCEPTED = "accepted", "Accepted"
    REJECTED = "rejected", "Rejected"
    UNDECIDED = "undecided", "Undecided"
