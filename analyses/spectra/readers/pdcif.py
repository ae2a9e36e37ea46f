"""Powder diffraction patterns in CIF (the powder dictionary pdCIF of the IUCr), through gemmi."""

import re
from typing import cast

import numpy as np
from gemmi import cif

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.readers import axes
from analyses.spectra.readers.text import Unreadable, shown

FORMAT = "pdCIF"
# What was measured goes before what was made of it, and both before what was calculated.
VALUES = (
    ("_pd_meas_counts_total", "counts"),
    ("_pd_meas_intensity_total", "intensity"),
    ("_pd_meas_intensity_net", "intensity"),
    ("_pd_proc_intensity_total", "intensity"),
    ("_pd_proc_intensity_net", "intensity"),
    ("_pd_calc_intensity_total", "intensity"),
    ("_pd_calc_intensity_net", "intensity"),
)
PLACES = (
    ("_pd_meas_2theta_scan", Axis.TWO_THETA),
    ("_pd_proc_2theta_corrected", Axis.TWO_THETA),
    ("_pd_proc_d_spacing", Axis.SPACING),
)
RANGES = ("_pd_meas_2theta_range", "_pd_proc_2theta_range")
WAVELENGTH = "_diffrn_radiation_wavelength"


def recognised(text: str) -> bool:
    return bool(
        re.match(r"\s*(#[^\n]*\n\s*)*data_\S*\s", text, re.IGNORECASE) or text.startswith("#\\#CIF")
    )


def read(text: str) -> Curve:
    """The one measured pattern of the file."""
    try:
        document = cif.read_string(text)
    except (ValueError, RuntimeError) as error:
        where = re.match(r"\w*:(\d+):\d+(?:\(\d+\))?:?\s*(.*)", str(error), re.DOTALL)
        raise Unreadable(
            f"is no CIF: {where[2] if where else error}. Mend it or export the pattern again.",
            int(where[1]) if where else None,
        ) from error
    patterns = [
        (block, *found[0])
        for block in document
        if (found := [value for value in VALUES if _has(block, value[0])])
    ]
    if not patterns:
        structure = any(_has(block, "_atom_site_label") for block in document)
        raise Unreadable(
            "The file holds a crystal structure, not a measured pattern."
            if structure
            else f"The file holds no pattern: none of {', '.join(tag for tag, _ in VALUES)} "
            "stands in a loop. Export the measurement as pdCIF."
        )
    if len(patterns) > 1:
        names = ", ".join(shown(block.name) for block, _, _ in patterns)
        raise Unreadable(
            f"The file holds {len(patterns)} patterns ({names}). Save each as a file of its own."
        )
    ((block, tag, y_words),) = patterns
    y = _numbers(text, block, tag)
    told = _told(document, block)
    for place, unit in PLACES:
        if _has(block, place):
            x = _numbers(text, block, place)
            if len(x) == len(y):
                return axes.curve(x, y, unit, y_words, format=FORMAT, told=told,
                                  lines=_lines(text, block, place))  # fmt: skip
    for stem in RANGES:
        given = [cif.as_number(block.find_value(f"{stem}_{end}") or "?")
                 for end in ("min", "max")]  # fmt: skip
        if all(np.isfinite(given)):
            _check_step(block, stem, given, len(y))
            x = np.linspace(given[0], given[1], len(y))
            return axes.curve(x, y, Axis.TWO_THETA, y_words, format=FORMAT, told=told)
    raise Unreadable(
        f"The pattern has no places: {PLACES[0][0]} in a loop of as many values, or "
        f"{RANGES[0]}_min and _max, are needed. Export the measurement again."
    )


def _has(block: cif.Block, tag: str) -> bool:
    return block.find_loop(tag).get_loop() is not None


def _check_step(block: cif.Block, stem: str, ends: list[float], count: int) -> None:
    step = cif.as_number(block.find_value(f"{stem}_inc") or "?")
    if not np.isfinite(step) or step == 0:
        return
    due = round((ends[1] - ends[0]) / step) + 1
    if due != count:
        item = block.find_pair_item(f"{stem}_inc")
        raise Unreadable(
            f"{stem}_min, _max and _inc make {due} places, the file has {count} values. Export "
            "the measurement again.",
            item.line_number,
        )


def _numbers(text: str, block: cif.Block, tag: str) -> Array:
    """Values of a loop without their standard uncertainties."""
    words = list(block.find_loop(tag))
    found = np.array([cif.as_number(word) for word in words])
    wrong = np.flatnonzero(~np.isfinite(found))
    if len(wrong):
        at = int(wrong[0])
        raise Unreadable(
            f"{tag} is “{shown(words[at])}”, which is no number. Mend it or export the "
            "measurement again.",
            _lines(text, block, tag)[at],
        )
    return found


def _lines(text: str, block: cif.Block, tag: str) -> list[int]:
    """The line of each value of a loop of numbers, which holds no text over several lines."""
    item = block.find_loop_item(tag)
    loop = item.loop
    column, width = loop.tags.index(tag), loop.width()
    lines: list[int] = []
    seen = 0
    for line, content in enumerate(text.split("\n")[item.line_number - 1 :], item.line_number):
        content = re.sub(r"(^|\s)#.*", "", content)
        for word in re.findall(r"'.*?'(?=\s|$)|\".*?\"(?=\s|$)|\S+", content):
            if word.casefold() == "loop_" or (seen == 0 and word.startswith("_")):
                continue
            if seen % width == column:
                lines.append(line)
            seen += 1
            if seen == width * loop.length():
                return lines
    return lines


def _told(document: cif.Document, pattern: cif.Block) -> dict[str, str]:
    """Single values of the pattern's block, and of the others what it lacks of the measurement."""
    told: dict[str, str] = {}
    for block in [pattern, *(other for other in document if other is not pattern)]:
        for item in block:
            if item.pair is None:
                continue
            tag, word = cast("tuple[str, str]", item.pair)
            measured = tag.startswith(("_pd_", "_diffrn_"))
            if (block is pattern or measured) and not cif.is_null(word):
                told.setdefault(tag, cif.as_string(word).strip()[:2000])
        lengths = [word for word in block.find_values(WAVELENGTH) if not cif.is_null(word)]
        if lengths and "wavelength" not in told:
            told["wavelength"] = f"{cif.as_number(lengths[0]):g}"
            told.setdefault(WAVELENGTH, ", ".join(lengths))
    return told
