"""EMSA/MAS spectral data files (ISO 22029:2022, and the earlier version 1.0).

Every line is checked here, because the library that reads the values passes over much that is
wrong; then rosettasciio reads what was checked.
"""

import re

import numpy as np
from rsciio.msa import parse_msa_string

from analyses.spectra.curve import Curve
from analyses.spectra.readers import axes
from analyses.spectra.readers.text import Unreadable, number, shown

FORMAT = "EMSA/MAS"
NEEDED = ("NPOINTS", "DATATYPE", "XPERCHAN", "OFFSET")
NUMBERS = {"NPOINTS", "NCOLUMNS", "XPERCHAN", "OFFSET", "CHOFFSET", "BEAMKV", "LIVETIME",
           "REALTIME"}  # fmt: skip
SEVERAL_LINES = {"TITLE", "COMMENT"}


def recognised(text: str) -> bool:
    return bool(re.match(r"\s*#\s*FORMAT\s*:", text, re.IGNORECASE))


def read(text: str) -> Curve:
    """The spectrum; energies in eV become keV."""
    lines = text.split("\n")
    told, at, start = _keywords(lines)
    for keyword in NEEDED:
        if not told.get(keyword):
            raise Unreadable(
                f"the keyword #{keyword} is missing before the data. Export the spectrum again.",
                start,
            )
    kind = told["DATATYPE"].upper()
    if kind not in ("Y", "XY"):
        raise Unreadable(f"#DATATYPE is “{shown(kind)}”; it must be Y or XY.", at["DATATYPE"])
    values, places, places_at = _data(lines, start, kind, told, at)

    (spectrum,) = parse_msa_string("\n".join(_plain(told, kind, values)))
    y = np.asarray(spectrum["data"], dtype=np.float64)
    offset, width = float(spectrum["axes"][0]["offset"]), float(spectrum["axes"][0]["scale"])
    if kind == "Y" and width <= 0:
        raise Unreadable("#XPERCHAN must be greater than zero.", at["XPERCHAN"])
    x = np.array(places) if kind == "XY" else offset + width * np.arange(len(y), dtype=np.float64)
    if beam := told.get("BEAMKV"):
        told["beam_energy"] = beam
    unit, label = told.get("XUNITS", ""), told.get("XLABEL", "")
    quantity = f"{told.get('YLABEL', '')} {told.get('YUNITS', '')}".strip()
    return axes.curve(
        x, y, unit if axes.x_unit(unit) else f"{label} {unit}", quantity or "counts",
        format=FORMAT, told=told, lines=places_at or None,
    )  # fmt: skip


def _keywords(lines: list[str]) -> tuple[dict[str, str], dict[str, int], int]:
    """What the head says by keyword, the line of each, and the line that ends it."""
    told: dict[str, str] = {}
    at: dict[str, int] = {}
    for line, content in enumerate(lines, 1):
        if not content.strip():
            continue
        match = re.match(r"#\s*([^:]+?)\s*:\s?(.*)$", content)
        if not match:
            raise Unreadable(
                f"“{shown(content.strip())}” is no keyword line (#KEYWORD : value), and the data "
                "have not begun (#SPECTRUM). Export the spectrum again.",
                line,
            )
        heading, value = match[1], match[2].strip()
        keyword, _, unit = (part.strip() for part in heading.partition("-"))
        keyword = keyword.upper() if keyword.upper() not in {"", "ALPHA"} else heading
        if keyword == "SPECTRUM":
            return told, at, line
        if keyword == "ENDOFDATA":
            break
        if keyword in NUMBERS and value:
            number(value.split()[0].rstrip(","), line, f"#{keyword}")
            value = value.split()[0].rstrip(",")
        if keyword in told and keyword in SEVERAL_LINES:
            value = f"{told[keyword]} {value}".strip()
        elif keyword in told and keyword in NEEDED:
            raise Unreadable(
                f"#{keyword} stands a second time: the file holds more than one spectrum. Save "
                "each as a file of its own.",
                line,
            )
        told[keyword] = value
        at[keyword] = line
        if unit and keyword != heading:
            told[f"{keyword} unit"] = unit
    raise Unreadable(
        "The file ends before its data: the line #SPECTRUM is missing. Export the spectrum again."
    )


def _data(
    lines: list[str], start: int, kind: str, told: dict[str, str], at: dict[str, int]
) -> tuple[list[float], list[float], list[int]]:
    """Values, and for DATATYPE XY the places and the line of each."""
    values: list[float] = []
    places: list[float] = []
    places_at: list[int] = []
    ended = False
    for line, content in enumerate(lines[start:], start + 1):
        content = content.strip()
        if content.startswith("#"):
            if re.match(r"#\s*ENDOFDATA", content, re.IGNORECASE):
                ended = True
                break
            if re.match(r"#\s*FORMAT", content, re.IGNORECASE):
                break
            continue
        words = [word for word in re.split(r"[,\s]+", content) if word]
        found = [number(word, line, "the value") for word in words]
        if kind == "XY":
            if len(found) % 2:
                raise Unreadable(
                    "has a place without its value: lines of DATATYPE XY hold pairs. Export the "
                    "spectrum again.",
                    line,
                )
            places += found[::2]
            places_at += [line] * (len(found) // 2)
            found = found[1::2]
        values += found
    if not ended:
        raise Unreadable(
            f"the line #ENDOFDATA is missing: the file was cut off. It has {len(values)} values. "
            "Export it again.",
            len(lines),
        )
    said = float(told["NPOINTS"])
    # The example in the description of version 1.0 itself counts one value too few.
    if len(values) not in (said, said + 1):
        raise Unreadable(
            f"#NPOINTS says {said:g} values, the file has {len(values)}. Export the spectrum "
            "again.",
            at["NPOINTS"],
        )
    return values, places, places_at


def _plain(told: dict[str, str], kind: str, values: list[float]) -> list[str]:
    """The checked spectrum in the plainest writing of the format, for the library."""
    return [
        "#FORMAT : EMSA/MAS Spectral Data File",
        "#DATATYPE : Y",
        *(f"#{word} : {told[word]}" for word in ("XPERCHAN", "OFFSET")),
        "#SPECTRUM : ",
        *(repr(value) for value in values),
        "#ENDOFDATA : ",
    ]
