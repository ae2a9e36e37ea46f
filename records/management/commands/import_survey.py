from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.history import edtf
from records.imports import Look, Refused, import_survey, nearest, plan_survey
from records.imports.commands import account, object_called, read_file
from records.models import Face, Technique


class Command(BaseCommand):
    help = "Import a survey of one face from a GeoJSON file (see records/imports/README.md)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--object", required=True, help="accession number")
        parser.add_argument("--face", required=True, help="name of the face, such as recto")
        parser.add_argument("--campaign", required=True, help="title; a new one is made if needed")
        parser.add_argument("--date", required=True, help="when the survey was made (EDTF)")
        parser.add_argument("--technique", default="visual_inspection", help="code of a technique")
        parser.add_argument("--user", required=True, help="name of the account that imports")
        parser.add_argument("--why", default="", help="reason kept with the change")
        parser.add_argument("--dry-run", action="store_true", help="check only; write nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        data = read_file(path)
        look = look_of(options)
        user = account(options["user"], "writes_records")
        try:
            if options["dry_run"]:
                plan = plan_survey(data, look)
                if plan.problems:
                    raise Refused(plan.problems)
            else:
                why = options["why"] or f"Survey imported from {path.name}."
                plan = import_survey(data, look, user=user, why=why)
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


def look_of(options: dict[str, Any]) -> Look:
    """The look that the options name; raises CommandError in words."""
    item = object_called(options["object"])
    faces = {face.name: face for face in item.faces.filter(withdrawn_at=None)}
    if options["face"] not in faces:
        raise CommandError(
            f"{item} has no face “{options['face']}”; it has: {', '.join(faces) or 'none'}."
        )
    technique = Technique.objects.filter(code=options["technique"], withdrawn_at=None).first()
    if technique is None:
        known = nearest(options["technique"], Technique.objects.values_list("code", flat=True))
        raise CommandError(f"“{options['technique']}” is no code of a technique{known}.")
    try:
        edtf.read(options["date"])
    except edtf.EdtfError as error:
        raise CommandError(f"--date: {error}") from error
    face: Face = faces[options["face"]]
    face.object = item
    return Look(face, options["campaign"].strip(), technique, options["date"])
