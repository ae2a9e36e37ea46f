"""Made-up X-ray spectra of paints, from the tables of xraylib: none of what is tested is used here.

Primary fluorescence of a thick, even sample under a tube's bremsstrahlung and lines, or under
electrons; scatter; what air and the detector's window take away; and the detector's answer: width,
tail, shelf, escape, pile-up, a slightly wrong energy axis, and counting noise.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import xraylib as xl
from numpy.typing import NDArray

Array = NDArray[np.float64]
Tube = tuple[Array, Array]
Parts = dict[tuple[str, str], Array]
LINES = {
    "K": "KL3 KL2 KM3 KM2 KN3 KN2",
    "L": "L3M5 L3M4 L3M1 L3N5 L3N4 L3N1 L3O4 L3O5 L2M4 L2M1 L2N4 L2O4 L1M3 L1M2 L1N3 L1N2",
    "M": "M5N7 M5N6 M5N3 M4N6 M4N2 M3N5 M3N4 M3N1 M2N4 M2N1 M1N3",
}
OIL = {"C": 0.77, "H": 0.115, "O": 0.115}
# Mass fractions from formulas; admixtures from memory.
FORMULAS = {
    "lead white": "Pb3C2O8H2",
    "vermilion": "HgS",
    "lead-tin yellow": "Pb2SnO4",
    "orpiment": "As2S3",
    "emerald green": "Cu4As6C4O16H6",
    "Prussian blue": "Fe7C18N18",
    "titanium white": "TiO2",
    "barium sulfate": "BaSO4",
    "zinc sulfide": "ZnS",
    "zinc white": "ZnO",
    "chrome yellow": "PbCrO4",
    "cadmium red": "Cd2SSe",
    "bone black": "Ca5P3O13H",
    "gypsum": "CaSO6H4",
    "chalk": "CaCO3",
    "cerulean blue": "CoSnO3",
    "cobalt blue": "CoAl2O4",
    "viridian": "Cr2O5H4",
    "red lead": "Pb3O4",
    "copper green": "Cu2C4O6H6",
    "iron oxide": "Fe2O3",
    "manganese oxide": "MnO2",
    "kaolin": "Al2Si2O9H4",
    "quartz": "SiO2",
    "strontium yellow": "SrCrO4",
    "Naples yellow": "Pb2Sb2O7",
    "silver": "Ag",
    "gold": "Au",
    "dolomite": "CaMgC2O6",
    "potash": "K2CO3",
    "salt": "NaCl",
    "cobalt oxide": "CoO",
    "nickel oxide": "NiO",
    "bismuth white": "BiOCl",
    "zircon": "ZrSiO4",
    "copper": "Cu",
    "zinc": "Zn",
}
# Paints and gilding as mixtures of those, by mass; oil is added.
PAINTS: dict[str, dict[str, float]] = {
    "lead white": {"lead white": 0.9, "chalk": 0.1},
    "vermilion": {"vermilion": 0.7, "lead white": 0.3},
    "lead-tin yellow": {"lead-tin yellow": 0.8, "chalk": 0.2},
    "orpiment": {"orpiment": 0.8, "chalk": 0.2},
    "orpiment on lead white": {"orpiment": 0.3, "lead white": 0.7},
    "emerald green": {"emerald green": 0.6, "lead white": 0.2, "barium sulfate": 0.2},
    "smalt": {"quartz": 0.66, "potash": 0.2, "cobalt oxide": 0.06, "orpiment": 0.03,
              "iron oxide": 0.03, "nickel oxide": 0.01, "chalk": 0.01},
    "Prussian blue": {"Prussian blue": 0.3, "lead white": 0.2, "gypsum": 0.5},
    "umber": {"iron oxide": 0.5, "manganese oxide": 0.12, "quartz": 0.15, "kaolin": 0.18,
              "chalk": 0.05},
    "titanium white": {"titanium white": 0.7, "chalk": 0.3},
    "titanium and barium white": {"titanium white": 0.4, "barium sulfate": 0.5, "chalk": 0.1},
    "lithopone": {"barium sulfate": 0.7, "zinc sulfide": 0.3},
    "zinc white": {"zinc white": 0.95, "chalk": 0.05},
    "chrome yellow": {"chrome yellow": 0.7, "barium sulfate": 0.2, "chalk": 0.1},
    "cadmium red": {"cadmium red": 0.6, "barium sulfate": 0.4},
    "bone black": {"bone black": 0.85, "iron oxide": 0.02, "chalk": 0.13},
    "gypsum ground": {"gypsum": 0.98, "iron oxide": 0.01, "zircon": 0.01},
    "chalk ground": {"chalk": 0.97, "kaolin": 0.02, "iron oxide": 0.01},
    "cerulean blue": {"cerulean blue": 0.6, "zinc white": 0.4},
    "cobalt blue": {"cobalt blue": 0.6, "zinc white": 0.2, "lead white": 0.2},
    "viridian": {"viridian": 0.7, "barium sulfate": 0.3},
    "copper green": {"copper green": 0.6, "lead white": 0.2, "lead-tin yellow": 0.2},
    "red lead and vermilion": {"red lead": 0.6, "vermilion": 0.4},
    "Naples yellow": {"Naples yellow": 0.7, "chalk": 0.2, "zinc white": 0.1},
    "strontium yellow": {"strontium yellow": 0.6, "chalk": 0.4},
    "gilding on bole": {"gold": 0.4, "silver": 0.02, "iron oxide": 0.1, "kaolin": 0.2,
                        "gypsum": 0.28},
    "brass": {"copper": 0.7, "zinc": 0.3},
    "green earth": {"quartz": 0.5, "iron oxide": 0.25, "potash": 0.1, "kaolin": 0.1,
                    "dolomite": 0.05},
    "retouching of today": {"titanium white": 0.3, "zinc white": 0.2, "barium sulfate": 0.2,
                            "iron oxide": 0.15, "viridian": 0.1, "cobalt blue": 0.05},
    "salt on chalk": {"salt": 0.15, "gypsum": 0.25, "chalk": 0.6},
    "bismuth white": {"bismuth white": 0.7, "chalk": 0.3},
    "manganese black": {"manganese oxide": 0.5, "iron oxide": 0.05, "barium sulfate": 0.2,
                        "chalk": 0.25},
}  # fmt: skip
STEP_KEV = 1.0  # of the tube's bremsstrahlung


@dataclass(frozen=True)
class Instrument:
    """How the spectrum is taken."""

    technique: str = "xrf"
    voltage_kv: float = 40.0
    anode: str = "Rh"
    air: bool = True
    fwhm_mn_ev: float = 140.0
    channel_kev: float = 0.02
    channels: int = 2048
    offset_kev: float = 0.0
    gain: float = 1.0
    tail: float = 0.012
    shelf: float = 0.0015
    pile_up: float = 0.003
    angle_deg: float = 90.0


@dataclass
class Made:
    """Expected counts (n,) at `energy_kev` (n,), and each element's share of them by shell."""

    energy_kev: Array
    expected: Array
    parts: Parts = field(default_factory=dict)

    def counted(self, seed: int) -> Array:
        return np.random.default_rng(seed).poisson(self.expected).astype(float)

    def net_sigma(self, element: str) -> float:
        """How many σ an element's counts stand out when all other sources are known in shape but
        not in height (the bound of Cramér and Rao for its strongest shell)."""
        weights = 1 / np.maximum(self.expected, 0.5)
        keys = [key for key, part in self.parts.items() if part.sum() > 1e-3]
        basis = np.column_stack([self.parts[key] for key in keys])
        fisher = basis.T @ (basis * weights[:, None])
        fisher[np.diag_indices_from(fisher)] *= 1 + 1e-10
        bound = np.linalg.pinv(fisher)
        own = [n for n, key in enumerate(keys) if key[0] == element]
        return max((1 / np.sqrt(max(bound[n, n], 1e-30)) for n in own), default=0.0)


def mixture(paint: dict[str, float], oil: float = 0.2) -> dict[str, float]:
    """Mass fractions of the elements."""
    found: dict[str, float] = {}
    for name, share in [(FORMULAS[n], s) for n, s in paint.items()]:
        parsed = xl.CompoundParser(name)
        for z, mass in zip(parsed["Elements"], parsed["massFractions"], strict=True):
            symbol = xl.AtomicNumberToSymbol(z)
            found[symbol] = found.get(symbol, 0.0) + share * mass * (1 - oil)
    for symbol, mass in OIL.items():
        found[symbol] = found.get(symbol, 0.0) + oil * mass
    total = sum(found.values())
    return {symbol: mass / total for symbol, mass in found.items()}


GRID = np.geomspace(0.1, 101, 3000)  # keV
LOG_GRID = np.log(GRID)


@cache
def _log_mu(symbol: str) -> Array:
    z = xl.SymbolToAtomicNumber(symbol)
    return np.log([xl.CS_Total(z, e) for e in GRID])


def mu(symbol: str, energy: Array) -> Array:
    return np.asarray(np.exp(np.interp(np.log(energy), LOG_GRID, _log_mu(symbol))))


def _mu_of(mass: dict[str, float], energy: Array) -> Array:
    return np.asarray(sum(share * mu(symbol, energy) for symbol, share in mass.items()))


def _efficiency(instrument: Instrument, energy: Array) -> Array:
    energy = np.maximum(energy, 0.11)
    through = mu("Be", energy) * 1.85 * (8e-4 if instrument.technique == "xrf" else 0.5e-4)
    if instrument.air:
        air = 0.755 * mu("N", energy) + 0.232 * mu("O", energy) + 0.013 * mu("Ar", energy)
        through = through + air * 0.001205 * 1.0
    return np.asarray(np.exp(-through) * -np.expm1(-mu("Si", energy) * 2.33 * 0.05))


@cache
def emission(symbol: str, shell: str, energy: float) -> tuple[tuple[float, float], ...]:
    """Lines (keV, cm²/g) of an element under photons of one energy."""
    z = xl.SymbolToAtomicNumber(symbol)
    found: dict[float, float] = {}  # some lines share their energy
    for name in LINES[shell].split():
        line = getattr(xl, f"{name}_LINE")
        try:
            at = xl.LineEnergy(z, line)
            found[at] = found.get(at, 0.0) + xl.CS_FluorLine_Kissel_Cascade(z, line, energy)
        except ValueError:
            continue
    return tuple((e, s) for e, s in found.items() if s > 0)


@cache
def struck(symbol: str, shell: str, beam: float) -> tuple[tuple[float, float], ...]:
    """Lines (keV, relative) of an element under electrons stopped in the sample."""
    z = xl.SymbolToAtomicNumber(symbol)
    levels = {"K": ["K"], "L": ["L1", "L2", "L3"], "M": ["M1", "M2", "M3", "M4", "M5"]}[shell]
    electrons = {"K": 2, "L1": 2, "L2": 2, "L3": 4, "M1": 2, "M2": 2, "M3": 4, "M4": 4, "M5": 6}
    vacancies: dict[str, float] = {}
    for level in levels:
        try:
            edge = xl.EdgeEnergy(z, getattr(xl, f"{level}_SHELL"))
        except ValueError:
            continue
        if beam > edge * 1.02:
            vacancies[level] = electrons[level] * (beam / edge - 1) ** 1.67 / xl.AtomicWeight(z)
    if shell == "L":
        for transition, start, end in (
            ("FL12", "L1", "L2"),
            ("FL13", "L1", "L3"),
            ("FL23", "L2", "L3"),
        ):
            if start in vacancies and end in vacancies:
                try:
                    moved = xl.CosKronTransProb(z, getattr(xl, f"{transition}_TRANS"))
                except ValueError:
                    continue
                vacancies[end] += vacancies[start] * moved
    found = []
    for name in LINES[shell].split():
        level = name[:2] if shell != "K" else "K"
        line = getattr(xl, f"{name}_LINE")
        try:
            strength = (
                vacancies.get(level, 0.0)
                * xl.FluorYield(z, getattr(xl, f"{level}_SHELL"))
                * xl.RadRate(z, line)
            )
            found.append((xl.LineEnergy(z, line), strength))
        except ValueError:
            continue
    return tuple((e, s) for e, s in found if s > 0)


def _tube(instrument: Instrument) -> tuple[Tube, Tube]:
    """The tube's bremsstrahlung (Kramers) in even steps, and its lines: keV, photons."""
    steps = np.arange(1.5, instrument.voltage_kv, STEP_KEV)
    thick = 1.85 * 0.0125  # of the tube's beryllium window, g/cm²
    photons = (instrument.voltage_kv / steps - 1) * np.exp(-mu("Be", steps) * thick)
    energies, counts = [], []
    for shell, scale in (("K", 4.5), ("L", 15.0)):
        lines = struck(instrument.anode, shell, instrument.voltage_kv)
        most = max((strength for _, strength in lines), default=0.0)
        for energy, strength in lines:
            if strength > 0.01 * most:
                through = float(np.exp(-mu("Be", np.array([energy]))[0] * thick))
                energies.append(energy)
                counts.append(scale * strength / most * through)
    return (steps, photons), (np.array(energies), np.array(counts))


def _peaks(instrument: Instrument, lines: list[tuple[float, float]], broad: float = 0.0) -> Array:
    """Counts (n,) of lines (keV, counts) as the detector would answer."""
    axis = (np.arange(instrument.channels) + 0.5) * instrument.channel_kev
    axis = (axis - instrument.offset_kev) / instrument.gain
    found = np.zeros_like(axis)
    noise = (instrument.fwhm_mn_ev / 1000) ** 2 - 5.545 * 0.00365 * 0.115 * 5.895
    for energy, area in lines:
        sigma = np.sqrt(max(noise, 4e-4) + 5.545 * 0.00365 * 0.115 * energy) / 2.3548
        sigma = np.hypot(sigma, broad / 2.3548)
        off = axis - energy
        step = instrument.channel_kev / instrument.gain
        near = np.abs(off) < 6 * sigma
        bell = np.where(near, np.exp(-0.5 * (off / sigma) ** 2), 0) * step / (sigma * 2.5066)
        fall = 0.12 + 0.02 * energy
        tail = np.where(off < 0, np.exp(off / fall), 0) * step / fall
        shelf = np.where((off < 0) & (axis > 0), step / energy, 0)
        found += area * (
            (1 - instrument.tail - instrument.shelf) * bell
            + instrument.tail * tail
            + instrument.shelf * shelf
        )
    return found


def _escapes(lines: list[tuple[float, float]]) -> list[tuple[float, float]]:
    found = []
    for energy, area in lines:
        if energy > 1.839:
            ratio = float(mu("Si", np.array([1.74]))[0] / mu("Si", np.array([energy]))[0])
            share = 0.5 * 0.047 * (1 - 1 / 10.8) * (1 - ratio * np.log1p(1 / ratio))
            found.append((energy - 1.74, area * share))
    return found


def _by_photons(instrument: Instrument, mass: dict[str, float]) -> tuple[Parts, Array]:
    brems, lines = _tube(instrument)
    tube, photons = (np.concatenate(both) for both in zip(brems, lines, strict=True))
    absorbed = _mu_of(mass, tube)
    parts: Parts = {}
    for symbol, share in mass.items():
        for shell in "KLM":
            sums: dict[float, float] = {}
            sections = [emission(symbol, shell, float(energy)) for energy in tube]
            for line in {line for one in sections for line, _ in one if line > 0.15}:
                out = float(_mu_of(mass, np.array([line]))[0])
                section = np.array([dict(one).get(line, 0.0) for one in sections])
                sums[line] = share * float(np.sum(photons * section / (absorbed + out)))
            if sums:
                parts[symbol, shell] = _answer(instrument, list(sums.items()))
    return parts, _scattered(instrument, mass, brems, lines)


def _scattered(instrument: Instrument, mass: dict[str, float], brems: Tube, lines: Tube) -> Array:
    """Rayleigh and Compton scatter of the tube; the latter moved, and broadened for lines."""
    angle = np.radians(instrument.angle_deg)

    def section(energy: float, which: Callable[[int, float, float], float]) -> float:
        found = sum(w * which(xl.SymbolToAtomicNumber(s), energy, angle) for s, w in mass.items())
        return float(6 * found / (2 * _mu_of(mass, np.array([energy]))[0]))

    axis = (np.arange(instrument.channels) + 0.5) * instrument.channel_kev
    smooth = np.zeros_like(axis)
    energies, photons = brems
    for which, moved in ((xl.DCS_Rayl, False), (xl.DCS_Compt, True)):
        places = [xl.ComptonEnergy(e, angle) if moved else e for e in energies]
        heights = photons * [section(e, which) for e in energies]
        smooth += np.interp(axis, places, heights, left=0, right=0)
    smooth *= instrument.channel_kev / STEP_KEV * _efficiency(instrument, np.maximum(axis, 0.2))
    elastic = [(e, n * section(e, xl.DCS_Rayl)) for e, n in zip(*lines, strict=True)]
    compton = [
        (xl.ComptonEnergy(e, angle), n * section(e, xl.DCS_Compt))
        for e, n in zip(*lines, strict=True)
    ]
    hard = [(e, a) for e, a in compton if e > 5]
    soft = [(e, a) for e, a in compton if e <= 5]
    return smooth + _answer(instrument, elastic + soft) + _answer(instrument, hard, 0.45)


def _answer(instrument: Instrument, lines: list[tuple[float, float]], broad: float = 0.0) -> Array:
    if not lines:
        return np.zeros(instrument.channels)
    energies = np.array([e for e, _ in lines])
    areas = np.array([a for _, a in lines]) * _efficiency(instrument, energies)
    seen = list(zip(energies.tolist(), areas.tolist(), strict=True))
    return _peaks(instrument, seen, broad) + _peaks(instrument, _escapes(seen), broad)


def _leaving(beam: float, attenuation: Array) -> Array:
    """Which share leaves the sample when X-rays arise evenly down to the electrons' range."""
    depth = 0.8e-5 * beam**1.68  # g/cm² (Kanaya and Okayama's power of the energy, from memory)
    on_the_way = attenuation * depth / 0.6  # taken off at about 37 degrees
    return np.asarray(-np.expm1(-on_the_way) / on_the_way)


def _by_electrons(instrument: Instrument, mass: dict[str, float]) -> tuple[Parts, Array]:
    beam = instrument.voltage_kv
    parts: Parts = {}
    for symbol, share in mass.items():
        for shell in "KLM":
            lines = []
            for energy, strength in struck(symbol, shell, beam):
                if energy > 0.15:
                    out = float(_leaving(beam, _mu_of(mass, np.array([energy])))[0])
                    lines.append((energy, share * strength * out))
            if lines:
                parts[symbol, shell] = _answer(instrument, lines)
    axis = (np.arange(instrument.channels) + 0.5) * instrument.channel_kev
    safe = np.maximum(axis, 0.15)
    number = sum(share * xl.SymbolToAtomicNumber(symbol) for symbol, share in mass.items())
    leaving = _leaving(beam, _mu_of(mass, safe))
    brems = (
        2e-5 * number * np.clip(beam / safe - 1, 0, None) * leaving * _efficiency(instrument, safe)
    )
    return parts, brems * instrument.channel_kev / 0.01


def make(
    instrument: Instrument,
    mass: dict[str, float],
    counts: float,
    coating: str = "",
) -> Made:
    """A spectrum of `counts` in all that is expected of an even sample of mass fractions `mass`."""
    electrons = instrument.technique == "sem_edx"
    parts, rest = (_by_electrons if electrons else _by_photons)(instrument, mass)
    first = int(0.12 / instrument.channel_kev)
    if instrument.air and not electrons:
        argon = _answer(instrument, [(2.957, 1.0), (3.19, 0.1)])
        strong = (
            0.004 * sum(float(part[first:].sum()) for part in parts.values()) + 0.004 * rest.sum()
        )
        rest = rest + argon * strong / argon.sum()
    if coating:
        for shell in "KLM":
            lines = list(struck(coating, shell, instrument.voltage_kv))
            if lines:
                part = _answer(instrument, lines)
                share = 0.05 * sum(float(p.sum()) for p in parts.values()) / max(part.sum(), 1e-9)
                rest = rest + part * share
    for part in (*parts.values(), rest):
        part[:first] = 0
    whole = np.asarray(sum(parts.values()) + rest)
    scale = counts / whole.sum()
    whole = whole * scale
    if instrument.pile_up:
        piled = np.convolve(whole, whole)[: len(whole)] / counts * instrument.pile_up
        whole = whole + piled
    axis = np.asarray((np.arange(instrument.channels) + 0.5) * instrument.channel_kev)
    made = Made(
        np.asarray(axis), np.asarray(whole), {key: part * scale for key, part in parts.items()}
    )
    made.parts["rest", ""] = rest * scale
    return made
