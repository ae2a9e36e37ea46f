from collections.abc import Iterable
from pathlib import Path
from typing import Any

from analyses.imports import import_raw_files, plan_raw_files
from analyses.imports.command import ImportCommand
from records.models import Object, User


class Command(ImportCommand):
    help = "Keep raw files with their analyses, all or none (see analyses/imports/README.md)."
    source = "FOLDER_OR_ZIP"
    object_needed = False
    what = "Raw files"

    def plan(self, path: Path, item: Object | None) -> Any:
        return plan_raw_files(path, item)

    def write(self, path: Path, item: Object | None, *, user: User, why: str) -> Any:
        return import_raw_files(path, item, user=user, why=why)

    def lines(self, plan: Any) -> Iterable[str]:
        return (f"{one.name}: {one.read_as}; {one.target}; {one.said}" for one in plan.files)
