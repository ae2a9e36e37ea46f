"""Lines of the elements, in families that hold together: K, L and M, from the tables of xraydb.

Energies and branching are those of Elam, Ravel and Sieber (Radiation Physics and Chemistry 63
(2002) 121), as xraydb carries them, but for some energies where measured ones are better.
"""

from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np
import xraydb

from analyses.spectra.xray.detector import detected_share
from analyses.spectra.xray.settings import XraySettings

# Elements met in works of art and their surroundings (common practice); the others are thought of
# only where these leave something unexplained, and need more to be believed.
_USUAL = (
    "C N O F Na Mg Al Si P S Cl K Ca Ti V Cr Mn Fe Co Ni Cu Zn As Se Br Sr Zr Mo Ag Cd Sn Sb Ba Au "
    "Hg Pb Bi"
)
USUAL = tuple(_USUAL.split())
# Of these, elements that are read only when commoner ones do not explain the same lines.
_LESS_USUAL = "N F V Ni Se Br Zr Mo Ag Bi"
LESS_USUAL = frozenset(_LESS_USUAL.split())
_UNUSUAL = (
    "Sc Ga Ge Rb Y Nb Ru Rh Pd In Te I Cs La Ce Pr Nd Sm Eu Gd Tb Dy Ho Er Tm Yb Lu Hf Ta W Re Os "
    "Ir Pt Tl Th U"
)
UNUSUAL = tuple(_UNUSUAL.split())
CONSIDERED = frozenset((*USUAL, *UNUSUAL))

NAMES = {
    "Ka1": "Kα", "Ka2": "Kα", "Ka3": "Kα",
    "Kb1": "Kβ", "Kb3": "Kβ", "Kb5": "Kβ", "Kb2": "Kβ2", "Kb4": "Kβ2",
    "La1": "Lα", "La2": "Lα", "Ll": "Lℓ", "Ln": "Lη",
    "Lb1": "Lβ1", "Lb2,15": "Lβ2", "Lb5": "Lβ5", "Lb6": "Lβ6", "Lb3": "Lβ3", "Lb4": "Lβ4",
    "Lg1": "Lγ1", "Lg6": "Lγ1", "Lg2": "Lγ3", "Lg3": "Lγ3",
    "Ma": "Mα", "Mb": "Mβ", "Mg": "Mγ", "Mz": "Mζ",
}  # fmt: skip
# Shares within the M family, from memory; tables differ widely, so they are bent freely.
M_SHARES = {"Mα": 1.0, "Mβ": 0.6, "Mγ": 0.05, "Mζ": 0.06, "M2N4": 0.05, "M3N1": 0.04}
# Lines of the M family that the tables lack: from which level to which.
M_LEVELS = {"M2N4": ("M2", "N4"), "M3N1": ("M3", "N1")}
# How far the proportion of a line to the family's strongest may be off, as a share of itself:
# absorption in the object, excitation near an edge, uncertain tables (common practice).
# Weak lines and the Kβ of light elements differ most from table to table.
K_BENDS, SAME_SHELL_BENDS, OTHER_SHELL_BENDS, M_BENDS = 0.12, 0.12, 0.25, 0.3
FAINT_BENDS, FAINT = 0.8, 0.06  # below this share of the strongest group
LIGHT_KB, LIGHT_KB_SHARE = 19, 0.5  # atomic numbers below; how much of the table's Kβ is seen
SOFTEST_KEV = 2.5  # where a tube's bremsstrahlung begins (common practice)
SOFTEST_EDGE_EV = 400.0  # of L and M families: softer ones drown in those of C, N and O
BELOW_KEV = 0.1  # lines so far below what is evaluated still reach into it
LEAST_IN_RANGE = 0.15  # of a family's emission, or it is left out
FAINTEST = 0.001  # lines below this share of their family are left out


# Energies in eV of lines that xraydb has about 1.5 eV or more off. It matters most where those of
# sulfur, molybdenum, mercury, lead and bismuth crowd. After J. A. Bearden, Reviews of Modern
# Physics 39 (1967) 78, from memory; a test holds them against those that NIST compiled.
MEASURED_EV: dict[str, dict[str, float]] = {
    "P": {"Ka1": 2013.7, "Ka2": 2012.7},
    "S": {"Ka1": 2307.8, "Ka2": 2306.6},
    "Cl": {"Kb1": 2815.6, "Kb3": 2815.6},
    "Ti": {"Ka1": 4510.8, "Ka2": 4504.9, "Kb1": 4931.8, "Kb3": 4931.8},
    "Mn": {"Ka1": 5898.8, "Ka2": 5887.7},
    "Ni": {"Ka1": 7478.2, "Ka2": 7460.9},
    "Zn": {"Ka1": 8638.9, "Ka2": 8615.8},
    "Zr": {"La1": 2042.4, "La2": 2039.9, "Lb1": 2124.4},
    "Ag": {"La1": 2984.3, "La2": 2978.2},
    "Pt": {"Ma": 2050.5},
    "Au": {"Ma": 2122.9},
    "Hg": {"Ma": 2195.3},
    "Tl": {"Ma": 2270.6},
    "Pb": {"Ma": 2345.5},
    "Bi": {"Ma": 2422.6},
}

_edges = cache(xraydb.xray_edges)


@cache
def _lines(symbol: str) -> dict[str, xraydb.xraydb.XrayLine]:
    table = dict(xraydb.xray_lines(symbol))
    for name, energy in MEASURED_EV.get(symbol, {}).items():
        table[name] = table[name]._replace(energy=energy)
    return table


@cache
def _passed_on(symbol: str, start: str, end: str) -> float:
    """How often a vacancy moves from one level of a shell to another before it is filled."""
    try:
        return float(xraydb.ck_probability(symbol, start, end, total=False))
    except ValueError:  # the tables know of none
        return 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """One emission line: `share` of the family's counts, 0 to 1."""

    name: str
    energy_kev: float
    share: float


@dataclass(frozen=True, slots=True)
class Group:
    """Lines of one name that stand together ('Kα', 'Lβ2'); `bends` says how far its share may."""

    name: str
    lines: tuple[Line, ...]
    bends: float

    @property
    def share(self) -> float:
        return sum(line.share for line in self.lines)

    @property
    def energy_kev(self) -> float:
        return sum(line.share * line.energy_kev for line in self.lines) / self.share


@dataclass(frozen=True, slots=True)
class Family:
    """What one shell of an element sends out, strongest group first.

    `emits` compares the families of one element: counts of a thin layer under this excitation, in
    arbitrary units. In anything thicker the families of higher energy gain.
    """

    element: str
    shell: str
    edge_kev: float
    groups: tuple[Group, ...]
    emits: float

    @property
    def label(self) -> str:
        return f"{self.element} {self.groups[0].name}"


def _ionised(settings: XraySettings, edge_kev: float, electrons: int, absorbs: float) -> float:
    """How often a subshell is ionised, relative: `absorbs` is its share of the absorption there."""
    over = settings.voltage_kv / edge_kev
    if over <= 1.02:
        return 0.0
    if settings.by_photons:
        # Bremsstrahlung ∝ V/E − 1 above the edge, all of it absorbed in a thick object.
        return float(absorbs * (over - 1 - np.log(over)))
    # Electrons stopped in the object: (U − 1)^1.67 (Green and Cosslett, Proceedings of the Physical
    # Society 78 (1961) 1206).
    return float(electrons * (over - 1) ** 1.67)


def _vacancies(symbol: str, shell: str, settings: XraySettings) -> dict[str, float]:
    edges = _edges(symbol)
    levels = {"K": ("K",), "L": ("L1", "L2", "L3"), "M": ("M5",)}[shell]
    electrons = {"K": 2, "L1": 2, "L2": 2, "L3": 4, "M5": 6}
    found: dict[str, float] = {}
    left = 1.0
    for level in levels:
        if level not in edges:
            return {}
        edge = edges[level]
        share = left * (1 - 1 / max(edge.jump_ratio, 1.01)) if shell != "M" else 0.5
        left /= max(edge.jump_ratio, 1.01)
        found[level] = _ionised(settings, edge.energy / 1000, electrons[level], share)
    if shell == "L":
        for start, end in (("L1", "L2"), ("L1", "L3"), ("L2", "L3")):
            found[end] += found[start] * _passed_on(symbol, start, end)
    return found


@cache
def edges_kev(symbol: str) -> tuple[float, ...]:
    """The sharp absorption edges of an element above 0.25 keV."""
    levels = ("K", "L1", "L2", "L3", "M4", "M5")
    found = (edge.energy / 1000 for level, edge in _edges(symbol).items() if level in levels)
    return tuple(energy for energy in found if energy > 0.25)


@lru_cache(maxsize=4096)
def families(symbol: str, settings: XraySettings, up_to_kev: float) -> tuple[Family, ...]:
    """The families of an element that this excitation reaches and this range can show."""
    edges, table = _edges(symbol), _lines(symbol)
    found = []
    for shell in "KLM":
        vacancies = _vacancies(symbol, shell, settings)
        edge = edges.get({"K": "K", "L": "L3", "M": "M5"}[shell])
        if not any(vacancies.values()) or edge is None:
            continue
        if shell != "K" and edge.energy < SOFTEST_EDGE_EV:
            continue
        lines: dict[str, list[tuple[float, float, str]]] = {}
        for key, line in table.items():
            if key[0] != shell or key not in NAMES:
                continue
            name, energy = NAMES[key], line.energy / 1000
            if shell == "M":
                strength = M_SHARES[name] * edges["M5"].fyield * vacancies["M5"]
            else:
                level = line.initial_level
                strength = line.intensity * edges[level].fyield * vacancies.get(level, 0.0)
                if name == "Kβ" and xraydb.atomic_number(symbol) < LIGHT_KB:
                    strength *= LIGHT_KB_SHARE
            lines.setdefault(name, []).append((energy, strength, key))
        if shell == "M" and "Mα" in lines:
            for name, (start, end) in M_LEVELS.items():
                if {start, end} <= set(edges):
                    energy = (edges[start].energy - edges[end].energy) / 1000
                    strength = M_SHARES[name] * edges["M5"].fyield * vacancies["M5"]
                    lines[name] = [(energy, strength, name)]
        family = _family(symbol, shell, lines, settings, up_to_kev)
        if family is not None:
            found.append(family)
    return tuple(found)


def _family(
    symbol: str,
    shell: str,
    lines: dict[str, list[tuple[float, float, str]]],
    settings: XraySettings,
    up_to_kev: float,
) -> Family | None:
    counted = {
        name: [
            (energy, strength * detected_share(settings, round(energy * 1000)), key)
            for energy, strength, key in members
            if settings.lowest_kev - BELOW_KEV <= energy <= up_to_kev
        ]
        for name, members in lines.items()
    }
    emits = sum(strength for members in counted.values() for _, strength, _ in members)
    edge = _edges(symbol)[{"K": "K", "L": "L3", "M": "M5"}[shell]].energy / 1000
    strongest = {"K": "Kα", "L": "Lα", "M": "Mα"}[shell]
    whole = sum(strength for members in lines.values() for _, strength, _ in members)
    here = sum(
        strength
        for members in lines.values()
        for energy, strength, _ in members
        if settings.lowest_kev - BELOW_KEV <= energy <= up_to_kev
    )
    if not emits or here < LEAST_IN_RANGE * whole:
        return None
    groups = []
    for name, members in counted.items():
        kept = tuple(
            Line(key, energy, strength / emits)
            for energy, strength, key in members
            if strength / emits >= FAINTEST
        )
        if kept:
            groups.append(Group(name, kept, _bends(symbol, name)))
    if not groups:
        return None
    groups.sort(key=lambda group: (group.name != strongest, -group.share))
    groups = [
        replace(group, bends=FAINT_BENDS) if group.share < FAINT * groups[0].share else group
        for group in groups
    ]
    return Family(symbol, shell, edge, tuple(groups), emits * _thin(settings, edge))


@lru_cache(maxsize=4096)
def _thin(settings: XraySettings, edge_kev: float) -> float:
    """What a thin layer catches of the radiation, against a thick one, in arbitrary units."""
    if not settings.by_photons:
        return 1.0
    energy = np.linspace(edge_kev, settings.voltage_kv, 400)
    # Kramers' bremsstrahlung; the tube's window and the air take its soft part.
    photons = (settings.voltage_kv / energy - 1) * np.exp(-((SOFTEST_KEV / energy) ** 3))
    caught = float(np.trapezoid(photons * energy**-3.0, energy))
    over = settings.voltage_kv / edge_kev
    return caught / float(over - 1 - np.log(over))


def _bends(symbol: str, name: str) -> float:
    if name[0] == "K":
        return FAINT_BENDS if xraydb.atomic_number(symbol) < LIGHT_KB else K_BENDS
    if name[0] == "M":
        return M_BENDS if name in ("Mα", "Mβ") else FAINT_BENDS
    return SAME_SHELL_BENDS if name in ("Lα", "Lℓ", "Lβ2", "Lβ5", "Lβ6") else OTHER_SHELL_BENDS


def lines_of(symbol: str, up_to_kev: float = 40.0) -> tuple[Line, ...]:
    """Markers to draw for an element: its lines up to an energy, strongest of each shell first.

    `share` is relative to the strongest line of the same shell, as the tables give it for a vacancy
    in each level; excitation and absorption are left out. Raises ValueError for what is no
    element's symbol.
    """
    try:
        table = _lines(symbol)
    except ValueError as wrong:
        raise ValueError(f"'{symbol}' is not the symbol of an element with lines.") from wrong
    strongest: dict[str, dict[str, tuple[float, float]]] = {}
    for key, line in table.items():
        name = NAMES.get(key)
        if name is None or not 0.1 <= line.energy / 1000 <= up_to_kev:
            continue
        shell = strongest.setdefault(key[0], {})
        weight, energy = shell.get(name, (0.0, 0.0))
        share = M_SHARES[name] if key[0] == "M" else line.intensity
        shell[name] = (weight + share, energy + share * line.energy / 1000)
    return tuple(
        Line(name, energy / weight, weight / max(w for w, _ in shell.values()))
        for shell in strongest.values()
        for name, (weight, energy) in sorted(shell.items(), key=lambda item: -item[1][0])
        if weight > 0
    )
