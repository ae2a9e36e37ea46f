from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from analyses.imports import import_raw_files, plan_raw_files
from records.imports import Refused
from records.imports.commands import account, object_called


class Command(BaseCommand):
    help = "Keep raw files with their analyses, all or none (see analyses/imports/README.md)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("source", type=Path, help="folder or ZIP")
        parser.add_argument("--user", required=True, help="name of the account that imports")
        parser.add_argument("--object", default="", help="accession number, where all are of one")
        parser.add_argument("--why", default="", help="reason kept with the change")
        parser.add_argument("--dry-run", action="store_true", help="check only; write nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        source: Path = options["source"]
        if not source.exists():
            raise CommandError(f"{source}: there is no such folder or file.")
        item = object_called(options["object"]) if options["object"] else None
        user = account(options["user"], "writes_analyses")
        try:
            if options["dry_run"]:
                plan = plan_raw_files(source, item)
                if plan.problems:
                    raise Refused(plan.problems)
            else:
                why = options["why"] or f"Raw files imported from {source.name}."
                plan = import_raw_files(source, item, user=user, why=why)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(str(problem))
            raise CommandError(
                f"{len(refused.problems)} problem(s); nothing was imported."
            ) from refused
        for file in plan.files:
            self.stdout.write(f"{file.name}: {file.read_as}; {file.target}; {file.said}")
        for remark in plan.remarks:
            self.stdout.write(str(remark))
        for words, number in plan.summary:
            self.stdout.write(f"{number} {words}")
        if options["dry_run"]:
            self.stdout.write("Nothing was written (dry run).")
