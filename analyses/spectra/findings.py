"""What an evaluation says of a measurement: findings with their grounds, and what stays open.

The same for every sort of measurement, so that pages, figures and proposals read them all alike.
"""

from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any


class Certainty(StrEnum):
    """How far a finding can be trusted. Only 'sure' leaves no other reading of the data."""

    SURE = "sure"
    LIKELY = "likely"
    POSSIBLE = "possible"


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the curve that speaks for or against a finding.

    `x` is where it was observed (expected, when nothing is there), in the curve's unit; `label` is
    the line, reflection or band; `height` is the net value observed there, `sigma` how many times
    its own uncertainty; `agrees` is False when the place speaks against the finding.
    """

    x: float
    label: str
    expected: float | None = None
    height: float | None = None
    sigma: float | None = None
    agrees: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something present: an element ('Pb'), a phase ('calcite'), a group of bands ('carbonate').

    `code` is what materials are matched by (an element's symbol, a phase's or a band group's
    code); `grounds` are sentences for and `against` those that tell against it.
    """

    kind: str
    code: str
    label: str
    certainty: Certainty
    grounds: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    score: float | None = None


@dataclass(frozen=True, slots=True)
class Unsettled:
    """Findings that cannot be told apart here, and what would settle it."""

    codes: tuple[str, ...]
    says: str
    settle: str


@dataclass(frozen=True, slots=True)
class Evaluation:
    """All that one method says of one curve.

    `method` and `version` name the computation, `parameters` everything it was given, so that it
    can be repeated; `background` is a curve's worth of values to draw, or empty; `x_unit` is the
    unit of all places, that of the curve.
    """

    method: str
    version: str
    parameters: dict[str, Any]
    findings: tuple[Finding, ...] = ()
    unsettled: tuple[Unsettled, ...] = ()
    unexplained: tuple[Mark, ...] = ()
    remarks: tuple[str, ...] = ()
    background: tuple[float, ...] = field(default=(), repr=False)
    x_unit: str = ""

    def to_json(self) -> dict[str, Any]:
        """The same as plain data, for keeping."""
        return asdict(self)
