"""What a chemical formula holds, for tests that compare formulae of two lists."""

import re
from collections import defaultdict
from fractions import Fraction


def atoms(formula: str) -> dict[str, Fraction]:
    """Atoms of a formula such as 2PbCO3·Pb(OH)2 or CaSO4(H2O)0.5."""
    total: dict[str, Fraction] = defaultdict(Fraction)
    for part in formula.split("·"):
        read = re.fullmatch(r"(\d*)(.*)", part)
        assert read, formula
        levels: list[dict[str, Fraction]] = [defaultdict(Fraction)]
        for token, n in re.findall(r"([A-Z][a-z]?|[()])([\d.]*)", read[2]):
            if token == "(":
                levels.append(defaultdict(Fraction))
            elif token == ")":
                for symbol, count in levels.pop().items():
                    levels[-1][symbol] += count * Fraction(n or 1)
            else:
                levels[-1][token] += Fraction(n or 1)
        for symbol, count in levels[0].items():
            total[symbol] += count * Fraction(read[1] or 1)
    return total


def shares(formula: str, without: frozenset[str] = frozenset()) -> dict[str, Fraction]:
    """The share of each element among the atoms, so that Fe4O8 and FeO2 are the same."""
    found = {symbol: n for symbol, n in atoms(formula).items() if symbol not in without}
    total = sum(found.values(), Fraction())
    return {symbol: n / total for symbol, n in found.items()}
