"""JCAMP-DX files of one spectrum, versions 4.24 and 5.

After R. S. McDonald and P. A. Wilks, Applied Spectroscopy 42 (1988) 151–162: plain numbers (AFFN),
packed (PAC), squeezed (SQZ), difference (DIF) and duplicate suppressed (DUP) forms, with the checks
of places and values that the format provides. Those checks name the line that was damaged, so the
lines are decoded here; the tests hold the result against another library.
"""

import re
from dataclasses import dataclass, field

import numpy as np

from analyses.spectra.curve import Curve
from analyses.spectra.readers import axes
from analyses.spectra.readers.text import Unreadable, number, shown

FORMAT = "JCAMP-DX"
SQUEEZED = {c: d for d, c in enumerate("@ABCDEFGHI")} | {
    c: -d for d, c in enumerate("abcdefghi", 1)
}
DIFFERENCE = {c: d for d, c in enumerate("%JKLMNOPQR")} | {
    c: -d for d, c in enumerate("jklmnopqr", 1)
}
DUPLICATE = {c: d for d, c in enumerate("STUVWXYZs", 1)}
TOKEN = re.compile(
    r"\s*(?:(?P<affn>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]\d{1,3})?)"
    r"|(?P<code>[@A-Ra-r%])(?P<digits>\d*)|(?P<dup>[S-Zs])(?P<times>\d*)|(?P<missing>\?)|,)\s*"
)


@dataclass(slots=True)
class Block:
    """One ##TITLE … ##END=: what it says by label, and its data lines with their numbers."""

    told: dict[str, str] = field(default_factory=dict)
    at: dict[str, int] = field(default_factory=dict)
    data_label: str = ""
    data: list[tuple[int, str]] = field(default_factory=list)

    @property
    def title(self) -> str:
        return self.told.get("TITLE", "")


def recognised(text: str) -> bool:
    return bool(re.match(r"\s*(\$\$[^\n]*\n\s*)*##\s*(TITLE|JCAMP)", text, re.IGNORECASE))


def read(text: str) -> Curve:
    """The one spectrum of the file; wavelengths in µm become wavenumbers, percent become parts."""
    blocks = _blocks(text.split("\n"))
    spectra = [block for block in blocks if block.data_label in ("XYDATA", "XYPOINTS")]
    if len(spectra) > 1:
        titles = "; ".join(f"“{shown(block.title)}”" for block in spectra[:5])
        raise Unreadable(
            f"The file holds {len(spectra)} spectra ({titles}). Save each as a file of its own."
        )
    if not spectra:
        for block in blocks:
            if block.data_label:
                raise Unreadable(
                    f"##{block.data_label} is no continuous curve. Export the spectrum as XYDATA.",
                    block.at[block.data_label],
                )
        raise Unreadable("The file has no data: ##XYDATA= is missing. Export the spectrum again.")
    block = spectra[0]
    if "XUNITS" not in block.told or "YUNITS" not in block.told:
        absent = "XUNITS" if "XUNITS" not in block.told else "YUNITS"
        raise Unreadable(
            f"##{absent}= is missing before the data. Export the spectrum again.",
            block.at[block.data_label],
        )
    form = re.sub(r"\s", "", block.told[block.data_label]).upper()
    if form == "(X++(Y..Y))":
        x, y, lines = _stepped(block)
    elif form == "(XY..XY)":
        x, y, lines = _pairs(block)
    else:
        raise Unreadable(
            f"the form “{shown(form)}” is not read. Export the spectrum as XYDATA=(X++(Y..Y)).",
            block.at[block.data_label],
        )
    return axes.curve(
        np.array(x), np.array(y), block.told["XUNITS"], block.told["YUNITS"],
        format=FORMAT, told=block.told, lines=lines,
    )  # fmt: skip


def _blocks(lines: list[str]) -> list[Block]:
    finished: list[Block] = []
    open_blocks: list[Block] = []
    label = ""
    for line, content in enumerate(lines, 1):
        content = content.split("$$", 1)[0].rstrip()
        if not content.strip():
            continue
        if content.lstrip().startswith("##"):
            name, sign, value = content.lstrip()[2:].partition("=")
            if not sign:
                raise Unreadable(
                    f"“{shown(content)}” has no “=” after its label. Export the spectrum again.",
                    line,
                )
            label = re.sub(r"[ \-/_]", "", name).upper()
            value = value.strip()
            if label == "TITLE":
                open_blocks.append(Block())
            if not open_blocks:
                raise Unreadable("stands before ##TITLE=, which begins a spectrum.", line)
            block = open_blocks[-1]
            if label == "END":
                finished.append(open_blocks.pop())
                label = ""
                continue
            if label in ("XYDATA", "XYPOINTS", "PEAKTABLE", "PEAKASSIGNMENTS", "DATATABLE",
                         "RADATA", "NTUPLES"):  # fmt: skip
                if block.data_label in ("XYDATA", "XYPOINTS") and label != "PEAKTABLE":
                    raise Unreadable(
                        "a second table of data stands in one block. Save each spectrum as a file "
                        "of its own.",
                        line,
                    )
                if block.data_label not in ("XYDATA", "XYPOINTS"):
                    block.data_label = label
            block.told[label] = value
            block.at[label] = line
        elif not open_blocks:
            raise Unreadable(
                f"“{shown(content)}” belongs to no label. Export the spectrum again.", line
            )
        elif label and label == open_blocks[-1].data_label:
            open_blocks[-1].data.append((line, content))
        elif label:
            block = open_blocks[-1]
            block.told[label] = f"{block.told[label]}\n{content.strip()}".strip()
    if open_blocks:
        raise Unreadable(
            f"##END= of “{shown(open_blocks[-1].title)}” is missing: the file was cut off. Export "
            "it again.",
            len(lines),
        )
    return finished


def _number(block: Block, label: str, default: float | None = None) -> float:
    if not block.told.get(label):
        if default is None:
            raise Unreadable(
                f"##{label}= is missing before the data. Export the spectrum again.",
                block.at[block.data_label],
            )
        return default
    return number(block.told[label].replace(",", "."), block.at[label], f"##{label}=")


def _stepped(block: Block) -> tuple[list[float], list[float], list[int]]:
    """(X++(Y..Y)): places by FIRSTX, LASTX and NPOINTS; those of the lines only check them."""
    first, last = _number(block, "FIRSTX"), _number(block, "LASTX")
    count = int(_number(block, "NPOINTS"))
    x_factor, y_factor = _number(block, "XFACTOR", 1), _number(block, "YFACTOR", 1)
    if count < 2 or first == last or x_factor == 0 or y_factor == 0:
        raise Unreadable(
            "##NPOINTS= must be at least 2, ##FIRSTX= and ##LASTX= differ, and factors not be "
            "zero. Export the spectrum again.",
            block.at["NPOINTS"],
        )
    step = (last - first) / (count - 1)
    values: list[float] = []
    lines: list[int] = []
    checked = False  # the last line ended in a difference: this one repeats its last value
    for line, content in block.data:
        place, found, ends_in_difference = decode_line(content, line)
        if checked and values and found:
            if abs(found[0] - values[-1]) > 1e-6 * max(1, abs(found[0])):
                raise Unreadable(
                    f"begins with {found[0]:g} where the line before ended with {values[-1]:g}. "
                    "One of the two is damaged, or a line is missing. Export the spectrum again.",
                    line,
                )
            values.pop()
            lines.pop()
        expected = first + step * len(values)
        said = place * x_factor
        if abs(said - expected) > abs(step) + _grain(content) * abs(x_factor):
            raise Unreadable(
                f"begins at {said:g} where {expected:g} is due. A line before it is missing or "
                "damaged. Export the spectrum again.",
                line,
            )
        values += found
        lines += [line] * len(found)
        checked = ends_in_difference
    if len(values) != count:
        raise Unreadable(
            f"##NPOINTS= says {count} values, the file has {len(values)}. Export the spectrum "
            "again.",
            block.at["NPOINTS"],
        )
    return list(np.linspace(first, last, count)), [v * y_factor for v in values], lines


def _grain(content: str) -> float:
    """Half a unit of the last decimal that the place at the head of a line is written with."""
    decimals = re.match(r"\s*[+-]?\d+\.?(\d*)", content)
    return 0.5 * 10.0 ** -len(decimals[1]) if decimals else 0.5


def _pairs(block: Block) -> tuple[list[float], list[float], list[int]]:
    x_factor, y_factor = _number(block, "XFACTOR", 1), _number(block, "YFACTOR", 1)
    x: list[float] = []
    y: list[float] = []
    lines: list[int] = []
    for line, content in block.data:
        words = [word for word in re.split(r"[,;\s]+", content) if word]
        if len(words) % 2:
            raise Unreadable("has a place without its value. Export the spectrum again.", line)
        x += [number(word, line, "the place") * x_factor for word in words[::2]]
        y += [number(word, line, "the value") * y_factor for word in words[1::2]]
        lines += [line] * (len(words) // 2)
    count = _number(block, "NPOINTS", len(x))
    if len(x) != count:
        raise Unreadable(
            f"##NPOINTS= says {count:g} pairs, the file has {len(x)}. Export the spectrum again.",
            block.at["NPOINTS"],
        )
    return x, y, lines


def decode_line(content: str, line: int) -> tuple[float, list[float], bool]:
    """Place, values, and whether the last value was written as a difference.

    >>> decode_line("99 1JT%jX", 1)
    (99.0, [1.0, 2.0, 3.0, 3.0, 2.0, 1.0, 0.0, -1.0, -2.0, -3.0], True)
    """
    place: float | None = None
    values: list[float] = []
    difference: float | None = None
    position = 0
    while position < len(content):
        token = TOKEN.match(content, position)
        if not token:
            raise Unreadable(
                f"“{content[position]}” (character {position + 1}) belongs to no form of JCAMP-DX "
                "data. Export the spectrum again.",
                line,
            )
        position = token.end()
        code, digits = token["code"], token["digits"]
        if token["missing"]:
            raise Unreadable(
                "holds a “?”, a value that was not measured. Export a range without gaps.", line
            )
        if token["affn"]:
            if place is None:
                place = float(token["affn"])
                continue
            difference = None
            values.append(float(token["affn"]))
        elif token["dup"]:
            if not values:
                raise Unreadable("repeats a value before there is one. Export again.", line)
            for _ in range(int(f"{DUPLICATE[token['dup']]}{token['times']}") - 1):
                values.append(values[-1] + (difference or 0))
        elif code:
            number_before = SQUEEZED if code in SQUEEZED else DIFFERENCE
            size = float(f"{abs(number_before[code])}{digits}")
            signed = -size if number_before[code] < 0 else size
            if place is None:
                place = signed
            elif code in SQUEEZED:
                difference = None
                values.append(signed)
            elif not values:
                raise Unreadable(
                    "begins with a difference where a value is due. Export the spectrum again.",
                    line,
                )
            else:
                difference = signed
                values.append(values[-1] + signed)
    if place is None:
        raise Unreadable("has no place at its head. Export the spectrum again.", line)
    return place, values, difference is not None
