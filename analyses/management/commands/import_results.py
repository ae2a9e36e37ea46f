from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from analyses.imports import import_results, plan_results
from records.imports import Refused
from records.imports.commands import account, object_called, read_file


class Command(BaseCommand):
    help = "Import samples and results from a CSV or XLSX table (see analyses/imports/README.md)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--object", required=True, help="accession number")
        parser.add_argument("--user", required=True, help="name of the account that imports")
        parser.add_argument("--why", default="", help="reason kept with the change")
        parser.add_argument("--dry-run", action="store_true", help="check only; write nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        data = read_file(path)
        item = object_called(options["object"])
        user = account(options["user"], "writes_analyses")
        try:
            if options["dry_run"]:
                plan = plan_results(data, item)
                if plan.problems:
                    raise Refused(plan.problems)
            else:
                why = options["why"] or f"Results imported from {path.name}."
                plan = import_results(data, item, user=user, why=why)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(str(problem))
            raise CommandError(
                f"{len(refused.problems)} problem(s); nothing was imported."
            ) from refused
        for remark in plan.remarks:
            self.stdout.write(str(remark))
        for words, number in plan.summary:
            self.stdout.write(f"{number} {words}")
        if options["dry_run"]:
            self.stdout.write("Nothing was written (dry run).")
