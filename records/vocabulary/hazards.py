"""Hazard statements of the Globally Harmonized System (GHS), in its own words.

The texts are those of the United Nations' GHS, Annex 3, written from memory and, up to H336,
compared with the list that the European Commission's sampling manual prints; the law of the place
and the supplier's data sheet come first.
"""

from collections.abc import Iterable

STATEMENTS = {
    "H220": "Extremely flammable gas",
    "H222": "Extremely flammable aerosol",
    "H223": "Flammable aerosol",
    "H224": "Extremely flammable liquid and vapour",
    "H225": "Highly flammable liquid and vapour",
    "H226": "Flammable liquid and vapour",
    "H228": "Flammable solid",
    "H242": "Heating may cause a fire",
    "H250": "Catches fire spontaneously if exposed to air",
    "H251": "Self-heating; may catch fire",
    "H260": "In contact with water releases flammable gases which may ignite spontaneously",
    "H261": "In contact with water releases flammable gas",
    "H271": "May cause fire or explosion; strong oxidizer",
    "H272": "May intensify fire; oxidizer",
    "H290": "May be corrosive to metals",
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
    "H350i": "May cause cancer by inhalation",
    "H351": "Suspected of causing cancer",
    "H360": "May damage fertility or the unborn child",
    "H360F": "May damage fertility",
    "H360D": "May damage the unborn child",
    "H360FD": "May damage fertility; may damage the unborn child",
    "H360Fd": "May damage fertility; suspected of damaging the unborn child",
    "H360Df": "May damage the unborn child; suspected of damaging fertility",
    "H361": "Suspected of damaging fertility or the unborn child",
    "H361f": "Suspected of damaging fertility",
    "H361d": "Suspected of damaging the unborn child",
    "H361fd": "Suspected of damaging fertility; suspected of damaging the unborn child",
    "H362": "May cause harm to breast-fed children",
    "H370": "Causes damage to organs",
    "H371": "May cause damage to organs",
    "H372": "Causes damage to organs through prolonged or repeated exposure",
    "H373": "May cause damage to organs through prolonged or repeated exposure",
    "H400": "Very toxic to aquatic life",
    "H410": "Very toxic to aquatic life with long lasting effects",
    "H411": "Toxic to aquatic life with long lasting effects",
    "H412": "Harmful to aquatic life with long lasting effects",
    "H413": "May cause long lasting harmful effects to aquatic life",
    "H420": "Harms public health and the environment by destroying ozone in the upper atmosphere",
}


def in_words(codes: Iterable[str]) -> list[tuple[str, str]]:
    """Each code with what it says, with letters at its end that are not known that of its number.

    Nothing is said of a code that is not known here.
    """
    return [(code, STATEMENTS.get(code, "") or STATEMENTS.get(code[:4], "")) for code in codes]
