from records.history.bounds import Bound
from records.history.case import Case, CaseError
from records.history.reconstruction import Reconstruction, order, solve, state

# Part of what makes a stored reconstruction current; raised whenever results may differ.
VERSION = "1"

__all__ = ["VERSION", "Bound", "Case", "CaseError", "Reconstruction", "order", "solve", "state"]
