from argparse import ArgumentParser
from typing import Any

from django.core.files.storage import default_storage
from django.core.management.base import BaseCommand, CommandError

from records.fixity import check, kept_files
from records.models import Image


class Command(BaseCommand):
    help = (
        "Read every kept file (images, raw data, dossiers …) and compare it with the SHA-256 "
        "stated when it came. Says what differs or is missing, and ends with 1 if anything does."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--strays", action="store_true", help="also name image files that no record speaks of"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        sound, faults = 0, 0
        for kept in kept_files():
            if fault := check(kept):
                faults += 1
                self.stderr.write(f"{kept.record}: “{kept.name}” {fault}.")
            else:
                sound += 1
        if options["strays"]:
            for name in strays("images"):
                self.stdout.write(f"No record speaks of “{name}”.")
        self.stdout.write(f"{sound} file{'' if sound == 1 else 's'} as they came.")
        if faults:
            raise CommandError(
                f"{faults} file{'' if faults == 1 else 's'} not as they came: bring them back "
                "from a backup, then check again."
            )


def strays(folder: str) -> list[str]:
    """Files below a folder of the store that no image names."""
    if not default_storage.exists(folder):
        return []
    inner, files = default_storage.listdir(folder)
    named = set(Image.objects.filter(file__startswith=f"{folder}/").values_list("file", flat=True))
    found = [f"{folder}/{name}" for name in files if f"{folder}/{name}" not in named]
    for name in inner:
        found += strays(f"{folder}/{name}")
    return sorted(found)
