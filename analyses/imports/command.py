"""The commands that import for the laboratory: options, every problem told, a summary."""

from argparse import ArgumentParser
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.imports import Refused
from records.imports.commands import account, object_called
from records.models import Object, User


class ImportCommand(BaseCommand):
    """Check a file or folder, then write all of it or nothing."""

    source: str
    object_needed = True
    what: str  # is imported, for the reason that is kept

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("source", type=Path, metavar=self.source)
        parser.add_argument(
            "--object",
            required=self.object_needed,
            help="accession number" + ("" if self.object_needed else ", where all are of one"),
        )
        parser.add_argument("--user", required=True, help="name of the account that imports")
        parser.add_argument("--why", default="", help="reason kept with the change")
        parser.add_argument("--dry-run", action="store_true", help="check only; write nothing")

    def plan(self, path: Path, item: Object | None) -> Any:
        """What would be written, with the problems that stop it."""
        raise NotImplementedError

    def write(self, path: Path, item: Object | None, *, user: User, why: str) -> Any:
        """Write it, or raise Refused."""
        raise NotImplementedError

    def lines(self, plan: Any) -> Iterable[str]:
        """What is told of each part before the summary."""
        return ()

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["source"]
        if not path.exists():
            raise CommandError(f"{path}: there is no such folder or file.")
        item = object_called(options["object"]) if options["object"] else None
        user = account(options["user"], "writes_analyses")
        try:
            if options["dry_run"]:
                plan = self.plan(path, item)
                if plan.problems:
                    raise Refused(plan.problems)
            else:
                why = options["why"] or f"{self.what} imported from {path.name}."
                plan = self.write(path, item, user=user, why=why)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(str(problem))
            raise CommandError(
                f"{len(refused.problems)} problem(s); nothing was imported."
            ) from refused
        for line in (*self.lines(plan), *map(str, plan.remarks)):
            self.stdout.write(line)
        for words, number in plan.summary:
            self.stdout.write(f"{number} {words}")
        if options["dry_run"]:
            self.stdout.write("Nothing was written (dry run).")
