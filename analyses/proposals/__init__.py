"""Which materials explain what was read at a place, as pure computation: no Django here."""

from analyses.proposals.propose import Outcome, Proposal, propose
from analyses.proposals.record import Candidate, Looked, Read, Sight, Target

__all__ = ["Candidate", "Looked", "Outcome", "Proposal", "Read", "Sight", "Target", "propose"]
