"""Verify a dossier: manage.py verify_dossier FILE, or the number of one kept here."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.files import File
from django.core.management.base import BaseCommand, CommandError

from reports.models import Dossier
from reports.verification import Outcome, Verdict, verify_file, verify_kept

EXIT = {Outcome.SAME: 0, Outcome.DIFFERS: 1, Outcome.UNKNOWN: 2, Outcome.MISSING: 2}


class Command(BaseCommand):
    help = (
        "Say whether a PDF is a dossier as it was made, or whether the stored file of a dossier is."
        " Ends with 0 when it is, 1 when it differs, 2 when it is unknown or missing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", metavar="FILE|NUMBER", help="a PDF, or a dossier's number")

    def handle(self, *args: Any, **options: Any) -> None:
        verdict = _verdict(options["what"])
        self.stdout.write(verdict.words)
        if verdict.sha256:
            self.stdout.write(f"SHA-256 {verdict.sha256}")
        dossier = verdict.dossier
        if dossier and verdict.outcome == Outcome.SAME:
            self.stdout.write(
                f"‘{dossier}’ on {dossier.object}, made {dossier.finished_at:%Y-%m-%d}"
            )
            signed = dossier.signed_at
            self.stdout.write(
                f"Signed by {dossier.signed_by} on {signed:%Y-%m-%d}" if signed else "Not signed"
            )
        sys.exit(EXIT[verdict.outcome])


def _verdict(what: str) -> Verdict:
    if Path(what).is_file():
        with Path(what).open("rb") as opened:
            return verify_file(File(opened))
    if what.isdigit():
        dossier = Dossier.objects.filter(pk=int(what)).first()
        if dossier:
            return verify_kept(dossier)
        raise CommandError(f"There is no dossier {what}.")
    raise CommandError(f"{what!r} is neither a file nor the number of a dossier.")
