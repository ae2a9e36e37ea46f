"""What may harm people or the object in further work on it, drawn from its own records.

The cautions are common practice, worded by us; what hazard statements say stands in
`records.vocabulary.hazards`.
"""

from collections.abc import Iterable
from dataclasses import dataclass

FURTHER = "Also to be minded"
CLOSING = (
    "These cautions name what the records of this object give reason to expect. They do not replace"
    " a risk assessment: local codes and law, the safety data sheets of what is used and the"
    " judgement of licensed or qualified practitioners come first."
)


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
