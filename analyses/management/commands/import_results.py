from pathlib import Path
from typing import Any

from analyses.imports import import_results, plan_results
from analyses.imports.command import ImportCommand
from records.imports.commands import read_file
from records.models import User


class Command(ImportCommand):
    help = "Import samples and results from a CSV or XLSX table (see analyses/imports/README.md)."
    source = "FILE"
    what = "Results"

    def plan(self, path: Path, item: Any) -> Any:
        return plan_results(read_file(path), item)

    def write(self, path: Path, item: Any, *, user: User, why: str) -> Any:
        return import_results(read_file(path), item, user=user, why=why)
