from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.arrivals import in_ingest_folder, pick_up, settle
from records.choices import ArrivalState, ImageKind
from records.forms.images import IngestForm
from records.imports.commands import account, object_called


class Command(BaseCommand):
    help = (
        "Take image files from the ingest folder (INGEST_ROOT) into the records of an object. Each "
        "is copied, compared, read to its end and kept; only then is it removed from the folder. "
        "What is refused stays there, and the command ends with 1."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "paths", nargs="*", type=Path, help="files or folders in it; without any, everything"
        )
        parser.add_argument("--object", required=True, help="accession number")
        parser.add_argument("--user", required=True, help="name of the account that takes them in")
        parser.add_argument("--kind", default=ImageKind.TECHNICAL, choices=ImageKind.values)
        parser.add_argument("--examination", default="", help="number in the address of its page")
        parser.add_argument("--source", default="", help="number in the address of the paper")
        parser.add_argument("--title", default="", help="else the names of the files")
        parser.add_argument("--date", default="", help="when they were made (EDTF)")
        parser.add_argument("--dry-run", action="store_true", help="list only; take nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        item = object_called(options["object"])
        user = account(options["user"], "writes_records")
        found = self._chosen(options["paths"])
        said = {name: options[name] for name in ("kind", "examination", "source", "title", "date")}
        form = IngestForm(
            {**said, "chosen": [str(path) for path in found]}, item=item, user=user, found=found
        )
        if not form.is_valid():
            for name, errors in form.errors.items():
                self.stderr.write(f"--{name}: {' '.join(map(str, errors))}")
            raise CommandError("Nothing was taken.")
        if options["dry_run"]:
            for path in found:
                self.stdout.write(str(path))
            self.stdout.write(f"{len(found)} to take; nothing was taken (dry run).")
            return
        kept = 0
        for path in found:
            described = form.described(path.name, many=len(found) > 1)
            arrival = pick_up(path, item, user, described)
            settle(arrival)
            kept += arrival.state == ArrivalState.KEPT
            told = arrival.problem or f"{path}: kept as image {arrival.image_id}."
            (self.stdout if arrival.state == ArrivalState.KEPT else self.stderr).write(told)
        self.stdout.write(f"{kept} of {len(found)} kept.")
        if kept < len(found):
            raise CommandError("What was not kept still lies in the ingest folder.")

    def _chosen(self, paths: list[Path]) -> list[Path]:
        lying = in_ingest_folder()
        if not paths:
            if not lying:
                raise CommandError("No image file lies in the ingest folder.")
            return lying
        chosen: list[Path] = []
        for wanted in paths:
            inside = [path for path in lying if path == wanted or wanted in path.parents]
            if not inside:
                raise CommandError(f"“{wanted}” is no image file in the ingest folder.")
            chosen += [path for path in inside if path not in chosen]
        return chosen
