"""What may harm people or the object in further work on it, drawn from its own records.

The general cautions are common practice, worded by us; the words of hazard statements are those of
Regulation (EC) No 1272/2008, Annex III, quoted from memory.
"""

from collections.abc import Iterable
from dataclasses import dataclass

FURTHER = "Also to be minded"
CLOSING = (
    "These cautions name what the records of this object give reason to expect. They do not replace"
    " a risk assessment: local codes and law, the safety data sheets of what is used and the"
    " judgement of licensed or qualified practitioners come first."
)

H_STATEMENTS = {
    "H224": "Extremely flammable liquid and vapour",
    "H225": "Highly flammable liquid and vapour",
    "H226": "Flammable liquid and vapour",
    "H228": "Flammable solid",
    "H300": "Fatal if swallowed",
    "H301": "Toxic if swallowed",
    "H302": "Harmful if swallowed",
    "H304": "May be fatal if swallowed and enters airways",
    "H310": "Fatal in contact with skin",
    "H311": "Toxic in contact with skin",
    "H312": "Harmful in contact with skin",
    "H314": "Causes severe skin burns and eye damage",
    "H315": "Causes skin irritation",
    "H317": "May cause an allergic skin reaction",
    "H318": "Causes serious eye damage",
    "H319": "Causes serious eye irritation",
    "H330": "Fatal if inhaled",
    "H331": "Toxic if inhaled",
    "H332": "Harmful if inhaled",
    "H334": "May cause allergy or asthma symptoms or breathing difficulties if inhaled",
    "H335": "May cause respiratory irritation",
    "H336": "May cause drowsiness or dizziness",
    "H340": "May cause genetic defects",
    "H341": "Suspected of causing genetic defects",
    "H350": "May cause cancer",
    "H351": "Suspected of causing cancer",
    "H360": "May damage fertility or the unborn child",
    "H361": "Suspected of damaging fertility or the unborn child",
    "H370": "Causes damage to organs",
    "H371": "May cause damage to organs",
    "H372": "Causes damage to organs through prolonged or repeated exposure",
    "H373": "May cause damage to organs through prolonged or repeated exposure",
    "H400": "Very toxic to aquatic life",
    "H410": "Very toxic to aquatic life with long lasting effects",
    "H411": "Toxic to aquatic life with long lasting effects",
    "H412": "Harmful to aquatic life with long lasting effects",
    "H413": "May cause long lasting harmful effects to aquatic life",
}


@dataclass(frozen=True)
class Mention:
    """A term that the object's records use, with its cautions and where it is used.

    `elements` and `hazards` (GHS H-statements) are those of materials.
    """

    code: str
    label: str
    cautions: str
    where: str
    elements: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()

    @property
    def ground(self) -> str:
        return f"{self.label}: {self.where}"


@dataclass(frozen=True)
class Caution:
    """One caution: what it is about, what to mind, and the records that give reason for it."""

    title: str
    words: str
    grounds: tuple[str, ...]
    hazards: tuple[str, ...] = ()


OF_ELEMENTS = {
    "Pb": (
        "Lead",
        "Lead compounds are poisonous when dust is breathed in or swallowed. No dry sanding or dry"
        " scraping; gloves, a fitted particle mask and a vacuum cleaner with a HEPA filter; collect"
        " swabs and dust as hazardous waste.",
    ),
    "As": (
        "Arsenic",
        "Arsenic compounds are very poisonous. No dry brushing; gloves and a fitted particle mask;"
        " keep damp and mould away, since some moulds free arsenic as gas.",
    ),
    "Hg": (
        "Mercury",
        "Mercury compounds give off poisonous vapour when heated. No hot spatula, heated table or"
        " laser on these places without advice; gloves.",
    ),
    "Cd": (
        "Cadmium",
        "Cadmium compounds are poisonous as dust and when heated. No dry sanding and no hot work;"
        " gloves and a fitted particle mask.",
    ),
    "U": (
        "Uranium",
        "Radioactive and poisonous: take radiation advice before any work.",
    ),
}

SOLVENTS = (
    "Solvents",
    "Vapours are harmful and may catch fire: local extraction, no sparks or hot lamps nearby,"
    " closed waste. Cleaning tests come first; what is soluble here may be original.",
)
XRAYS = (
    "X-rays",
    "Ionising radiation: only by trained and licensed operators, in a controlled area, with dose"
    " records. Note every exposure, since it bears on materials that are to be dated later.",
)
ULTRAVIOLET = (
    "Ultraviolet",
    "Shield eyes and skin, and keep exposures short: ultraviolet fades dyes and ages varnish and"
    " paper. Record the dose.",
)
MOULD = (
    "Mould",
    "Spores may be living and can sensitise or infect: quarantine, gloves, a fitted particle mask"
    " and extraction; no brushing in the open. People at risk keep away.",
)


# Which terms the general cautions concern, by parts of their codes.
OF_CODES = (
    (XRAYS, ("xradio", "xrf", "xrd", "tomography", "beta_radio")),
    (ULTRAVIOLET, ("uv_",)),
    (MOULD, ("mould",)),
)


def cautions(mentions: Iterable[Mention]) -> list[Caution]:
    """Everything to mind: poisonous elements, then solvents, rays and mould, then all else."""
    mentions = list(mentions)
    found: list[Caution] = []
    spoken: set[Mention] = set()

    def speak(rule: tuple[str, str], about: list[Mention]) -> None:
        if about:
            spoken.update(about)
            found.append(_caution(*rule, about))

    for element, rule in OF_ELEMENTS.items():
        speak(rule, [m for m in mentions if element in m.elements])
    speak(SOLVENTS, [m for m in mentions if "solvent" in m.cautions.lower()])
    for rule, parts in OF_CODES:
        speak(rule, [m for m in mentions if any(part in m.code for part in parts)])

    rest: dict[str, list[Mention]] = {}
    for mention in mentions:
        if mention not in spoken and (mention.cautions or mention.hazards):
            rest.setdefault(mention.cautions or "See the hazard statements.", []).append(mention)
    return found + [_caution(FURTHER, words, about) for words, about in rest.items()]


def _caution(title: str, words: str, about: list[Mention]) -> Caution:
    hazards = sorted({code for mention in about for code in mention.hazards})
    return Caution(title, words, tuple(m.ground for m in about), tuple(hazards))


def hazard_words(code: str) -> str:
    """The words of a hazard statement; a code with letters at its end has those of its number."""
    return H_STATEMENTS.get(code, "") or H_STATEMENTS.get(code[:4], "")
