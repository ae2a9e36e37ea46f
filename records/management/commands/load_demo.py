"""Loads the demonstration: three invented objects, their pictures, and four accounts."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from fixtures.loading import accounts_told, load_demo


class Command(BaseCommand):
    help = "Load the demonstration objects, pictures and accounts, unless they are there."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--small-images", action="store_true", help="pictures 900 pixels wide, for tests"
        )
        parser.add_argument(
            "--accounts", action="store_true", help="only print the accounts and their password"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["accounts"]:
            self.stdout.write(accounts_told())
            return
        loaded = load_demo(images=not options["small_images"])
        self.stdout.write(loaded.words)
        if loaded.new:
            self.stdout.write(accounts_told())
