"""What an information sheet can ask for (settings.toml): reading what is typed, telling it again.

A value is kept as a number, a pair of numbers (a range) or words, under a code that ends in its
unit. No Django here.
"""

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite
from pathlib import Path
from typing import Any, Literal

Value = float | list[float] | str
Kind = Literal["number", "range", "choice", "text"]

GROUPS = {
    "light": "Light, radiation and geometry",
    "detector": "Camera, detector and resolution",
    "room": "Room",
}
THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+")
DASHES = re.compile(r"(?<=[\d\s])(?:–|—|-|\bto\b|\.\.)(?=[\s\d])")
SPACE = "\N{NARROW NO-BREAK SPACE}"
CLOSE = {"°", "×"}  # units that stand right behind their number


@dataclass(frozen=True, slots=True)
class Setting:
    """One thing to record: its words, its unit, what is usual and what is possible at all."""

    code: str
    label: str
    group: str
    kind: Kind
    help: str
    unit: str = ""
    usual: tuple[float, float] | None = None
    possible: tuple[float, float] | None = None
    choices: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """How to fill it in, with what is usual."""
        if self.usual is None:
            return self.help
        return f"{self.help} Mostly {self._span(*self.usual)}."

    def read(self, text: str) -> Value | None:
        """What was typed, as it is kept; None for nothing. Raises ValueError in words."""
        text = text.strip()
        if not text:
            return None
        if self.kind == "text":
            return text
        if self.kind == "choice":
            if text not in self.choices:
                raise ValueError(f"Choose one of: {'; '.join(self.choices)}.")
            return text
        plain = self._without_unit(text)
        parts = DASHES.split(plain) if self.kind == "range" else [plain]
        if len(parts) > 2:
            raise ValueError(f"A range has two ends: {self.help}")
        numbers = [self._number(part) for part in parts]
        if len(numbers) == 1:
            return numbers[0]
        if numbers[0] > numbers[1]:
            raise ValueError(f"The range runs backwards: write {numbers[1]:g}–{numbers[0]:g}.")
        return numbers

    def _without_unit(self, text: str) -> str:
        if self.code == "aperture_f":
            return text.removeprefix("f/")
        return text.removesuffix(self.unit).strip() if self.unit else text

    def _number(self, text: str) -> float:
        plain = text.strip().replace("\N{MINUS SIGN}", "-")
        if THOUSANDS.fullmatch(plain):
            dots, joined = plain.replace(",", "."), plain.replace(",", "")
            raise ValueError(f"“{plain}” can be read in two ways: write {joined} or {dots}.")
        try:
            number = float(Fraction(plain) if "/" in plain else plain.replace(",", "."))
        except (ValueError, ZeroDivisionError) as error:
            unit = f" in {self.unit}" if self.unit else ""
            raise ValueError(f"“{text.strip()}” is not a number{unit}.") from error
        least, most = self.possible or (float("-inf"), float("inf"))
        if not isfinite(number) or not least <= number <= most:
            raise ValueError(f"This cannot be: it lies outside {self._span(least, most)}.")
        return int(number) if number.is_integer() else number

    def fault(self, value: Any) -> str:
        """Why a value that a program sent cannot be kept; '' when it can."""
        if self.kind in {"text", "choice"}:
            if not isinstance(value, str):
                return "this is told in words"
            return self._refusal(value)
        numbers = value if isinstance(value, list) and self.kind == "range" else [value]
        if not numbers or not all(type(number) in {int, float} for number in numbers):
            unit = f" in {self.unit}" if self.unit else ""
            return f"a number{' or two' if self.kind == 'range' else ''}{unit}, without its unit"
        return self._refusal("–".join(str(number) for number in numbers))

    def _refusal(self, text: str) -> str:
        try:
            self.read(text)
        except ValueError as error:
            return str(error)
        return ""

    def told(self, value: Any) -> str:
        """A kept value with its unit: '28 kV', '900–1700 nm', '1/60 s'."""
        if isinstance(value, str):
            return value
        numbers = value if isinstance(value, list | tuple) else [value]
        said = "–".join(self._told(number) for number in numbers)
        if not self.unit:
            return f"f/{said}" if self.code == "aperture_f" else said
        return f"{said}{'' if self.unit in CLOSE else SPACE}{self.unit}"

    def _told(self, number: float) -> str:
        if self.code == "exposure_s" and 0 < number < 0.3:
            return f"1/{round(1 / number)}"
        return f"{number:.6g}" if abs(number) < 1e6 else f"{number:.0f}"

    def typed(self, value: Any) -> str:
        """A kept value as a person may change it, without its unit."""
        if isinstance(value, list | tuple):
            return "–".join(self._told(number) for number in value)
        return value if isinstance(value, str) else self._told(value)

    def doubt(self, value: Any) -> str:
        """Why a value should be looked at again; '' when it is usual."""
        if self.usual is None or isinstance(value, str):
            return ""
        numbers = value if isinstance(value, list | tuple) else [value]
        if all(self.usual[0] <= number <= self.usual[1] for number in numbers):
            return ""
        return f"unusual: mostly {self._span(*self.usual)}"

    def _span(self, least: float, most: float) -> str:
        unit = f"{SPACE}{self.unit}" if self.unit and self.unit not in CLOSE else self.unit
        return f"{self._told(least)} to {self._told(most)}{unit}"


@dataclass(frozen=True, slots=True)
class Told:
    """One line of a sheet."""

    label: str
    value: str
    doubt: str = ""


def read_settings() -> dict[str, Setting]:
    """All settings by code, in the order of the file."""
    with (Path(__file__).parent / "settings.toml").open("rb") as file:
        entries: dict[str, dict[str, Any]] = tomllib.load(file)
    return {
        code: Setting(code, **{key: _fixed(part) for key, part in entry.items()})
        for code, entry in entries.items()
    }


def _fixed(part: Any) -> Any:
    return tuple(part) if isinstance(part, list) else part


SETTINGS = read_settings()


@dataclass(frozen=True, slots=True)
class Telling:
    """The settings of a sheet under headings, and the labels of those that nobody recorded."""

    sections: list[tuple[str, list[Told]]]
    missing: list[str]

    @property
    def doubts(self) -> list[Told]:
        return [line for _, lines in self.sections for line in lines if line.doubt]


def tell(values: Mapping[str, Any], asked: Iterable[str] = ()) -> Telling:
    """What is recorded, under headings, in the order of the form, and what was asked in vain.

    What the vocabulary does not know comes last, as it was typed.
    """
    sections = []
    for group, heading in GROUPS.items():
        lines = [
            Told(one.label, one.told(values[code]), one.doubt(values[code]))
            for code, one in SETTINGS.items()
            if one.group == group and code in values
        ]
        if lines:
            sections.append((heading, lines))
    if own := [Told(str(name), str(part)) for name, part in values.items() if name not in SETTINGS]:
        sections.append(("Other settings", own))
    wanted = [code for code in asked if code in SETTINGS and code not in values]
    return Telling(sections, [SETTINGS[code].label for code in wanted])
