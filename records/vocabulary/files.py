"""Reads the TOML files of this folder. No Django here."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

SCHEMES = ("trace_kinds", "treatment_kinds", "occurrence_kinds", "techniques", "materials")
LANGUAGES = ("de", "fr")
FOLDER = Path(__file__).parent


def read(scheme: str) -> dict[str, dict[str, Any]]:
    """The terms of one scheme by code, every broader term before its narrower ones.

    Keys are the fields of the model; `broader` is a code. Raises ValueError for a broader term that
    is not in the file or that leads back to the term itself.
    """
    with (FOLDER / f"{scheme}.toml").open("rb") as file:
        terms: dict[str, dict[str, Any]] = tomllib.load(file)
    for term in terms.values():
        term["translations"] = {
            language: {"label": term.pop(language)} for language in LANGUAGES if language in term
        }
    return dict(sorted(terms.items(), key=lambda item: depth(item[0], terms)))


def depth(code: str, terms: Mapping[str, dict[str, Any]]) -> int:
    """How many broader terms stand above one."""
    above: list[str] = []
    while broader := terms[code].get("broader"):
        if broader not in terms:
            raise ValueError(f"{code}: the broader term {broader} is not in the list.")
        if broader in above:
            raise ValueError(f"{code}: the broader terms lead round in a circle.")
        above.append(broader)
        code = broader
    return len(above)
