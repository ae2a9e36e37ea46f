from typing import Any

from django.core.management.base import BaseCommand

from records.vocabulary.loading import load


class Command(BaseCommand):
    help = (
        "Bring the terms that come with the program (kinds of trace, treatment and occurrence, "
        "techniques, materials) into the database. What the department changed stays as it is."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        for scheme, told in load().items():
            self.stdout.write(
                f"{scheme.replace('_', ' ')}: {told['added']} added, {told['renewed']} renewed, "
                f"{told['left']} left as the department made them"
            )
