"""manage.py reconstruct: work out histories now, and say how far the evidence narrows them."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.choices import Trust
from records.history import CaseError
from records.models import Object
from records.reconstruction import store
from records.reconstruction.figures import figures


class Command(BaseCommand):
    help = "Work out the history of all objects, or of one, from the records as they are now."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--object", metavar="NUMBER", help="accession number of one object")
        parser.add_argument(
            "--figures",
            action="store_true",
            help="print how many time points are bounded and how wide they are at the median",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        objects = Object.objects.standing()
        if number := options["object"]:
            objects = objects.filter(accession_number=number)
            if not objects:
                raise CommandError(f"No object has the accession number {number}.")
        for item in objects:
            self.stdout.write(str(item))
            try:
                for kept in store.compute(item):
                    self._report(kept, options["figures"])
            except CaseError as error:
                raise CommandError(f"{item.accession_number}: {error}") from error
            store.tidy(item)

    def _report(self, kept: Any, with_figures: bool) -> None:
        trust = Trust(kept.trust).label
        found = figures(kept.case, kept.result)
        state = "consistent" if kept.result["consistent"] else found.conflict_words
        self.stdout.write(
            f"  {trust:16} {len(kept.case['evidence']):6,} items, {state}, {kept.seconds:.2f} s"
        )
        if with_figures:
            self.stdout.write(
                f"  {'':16} {found.bounds:,} bounds, {found.from_evidence:,} set by evidence; "
                f"median width of the {found.points:,} time points with two bounds: "
                f"{found.median_years_before:.1f} years before evidence, "
                f"{found.median_years_after:.1f} after"
            )
