"""Which room may know which: read from the imports themselves, wherever in a file they stand."""

import ast
import re
import sys
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
APPS = ("records", "analyses", "reports")
PURE = ("records/history", "records/imaging", "analyses/spectra")
# Run by hand with what ./deploy/test installs, to make what is kept with the sources.
FOR_CONTRIBUTORS = ("deploy/pictures/", "analyses/spectra/diffraction/build.py")


def imported(file: Path) -> Iterator[str]:
    """Full names of what a file imports: of `from a import b` both `a` and `a.b`."""
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            package = [*file.relative_to(ROOT).parts[: -node.level]] if node.level else []
            module = ".".join([*package, *filter(None, [node.module])])
            yield module
            yield from (f"{module}.{name.name}" for name in node.names)


def forbidden(folder: str, *modules: str) -> list[str]:
    """Imports in a folder, tests and migrations aside, of the modules or of what lies in them."""
    return [
        f"{file.relative_to(ROOT)} imports {name}"
        for file in sorted((ROOT / folder).rglob("*.py"))
        if "migrations" not in file.parts
        for name in sorted(set(imported(file)))
        if any(name == module or name.startswith(f"{module}.") for module in modules)
    ]


@pytest.mark.parametrize("folder", PURE)
def test_pure_computation_knows_neither_django_nor_the_records(folder: str) -> None:
    assert list((ROOT / folder).rglob("*.py"))
    assert forbidden(folder, "django", "deploy", *(f"{app}.models" for app in APPS)) == []


def test_records_know_nothing_of_what_is_built_upon_them() -> None:
    assert forbidden("records", "reports", "deploy", "analyses.views", "analyses.api") == []
    assert forbidden("analyses", "reports", "deploy") == []
    assert forbidden("reports", "deploy") == []


def test_what_the_program_imports_is_installed_where_it_is_used() -> None:
    """The lock of ./deploy/start has it, not only that of ./deploy/test."""
    locked = set(re.findall(r"^([\w.-]+)==", (ROOT / "requirements.lock").read_text(), re.M))
    shipped_by = packages_distributions()
    used: dict[str, str] = {}
    for room in (*APPS, "fixtures", "deploy"):
        for file in (ROOT / room).rglob("*.py"):
            if not str(file.relative_to(ROOT)).startswith(FOR_CONTRIBUTORS):
                used |= {name.split(".")[0]: str(file) for name in imported(file)}
    others = set(used) - {*sys.stdlib_module_names, *APPS, "fixtures", "deploy"}
    assert {"django", "numpy", "gemmi"} <= others
    missing = {
        module: used[module]
        for module in others
        if not locked & {re.sub(r"[-_.]+", "-", name).lower() for name in shipped_by[module]}
    }
    assert missing == {}


def test_an_import_is_seen_in_whatever_form_it_is_written(tmp_path: Path) -> None:
    file = ROOT / "records/history/case.py"
    assert "records.history" in set(imported(file)) or "dataclasses" in set(imported(file))
    assert forbidden("tests/unit", "ast") == ["tests/unit/test_rooms.py imports ast"]
