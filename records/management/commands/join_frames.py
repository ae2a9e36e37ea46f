"""Join the frames of an examination to one image: manage.py join_frames FOLDER --examination N."""

import time
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from procrastinate.contrib.django import app

from records import mosaics
from records.choices import Freedom, Lens, MosaicLayout, MosaicStage, TakingOrder
from records.forms.mosaics import MosaicForm
from records.frames import offered
from records.imports.commands import account, read_file
from records.models import Examination, Mosaic

WORTH_NAMING = 20


class Command(BaseCommand):
    help = (
        "Make one mosaic of overlapping frames: of all image files in a folder of the ingest "
        "folder (INGEST_ROOT), in the order of the numbers in their names (names that begin with "
        "“dark” or “flat” are such exposures), or, without a folder, of the images of the "
        "examination. Files are kept with the mosaic and removed from the folder once they are "
        "kept."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", nargs="?", default="", help="in the ingest folder")
        parser.add_argument("--examination", required=True, type=int, help="number of its page")
        parser.add_argument("--user", required=True, help="name of the account that joins them")
        parser.add_argument("--title", required=True, help="title of the mosaic")
        parser.add_argument("--layout", default=MosaicLayout.GRID, choices=MosaicLayout.values)
        parser.add_argument("--rows", default="", help="of a grid")
        parser.add_argument("--columns", default="", help="of a grid")
        parser.add_argument("--order", default=TakingOrder.ROWS, choices=TakingOrder.values)
        parser.add_argument("--overlap-across", default="", help="per cent, side by side")
        parser.add_argument("--overlap-down", default="", help="per cent, one below the other")
        parser.add_argument("--positions", type=Path, help="file with lines: name, x, y")
        parser.add_argument("--pixel-mm", default="", help="size of a pixel on the object")
        parser.add_argument("--freedom", default=Freedom.TURN, choices=Freedom.values)
        parser.add_argument("--lens", default=Lens.NONE, choices=Lens.values)
        parser.add_argument("--k1", default="", help="of a given lens")
        parser.add_argument("--k2", default="", help="of a given lens")
        parser.add_argument("--as-exposed", action="store_true", help="even no exposures")
        parser.add_argument("--even-falloff", action="store_true", help="also towards the edges")
        parser.add_argument("--dry-run", action="store_true", help="check only; make nothing")
        parser.add_argument(
            "--work", action="store_true", help="do the work here and wait for its end"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        user = account(options["user"], "writes_records")
        look = Examination.objects.filter(pk=options["examination"], withdrawn_at=None).first()
        if look is None:
            raise CommandError(f"--examination: there is no {options['examination']}.")
        said = {name: options[name] for name in MosaicForm.Meta.fields if name in options}
        path = options["positions"]
        said |= {
            "folder": options["folder"].rstrip("/"),
            "even_exposure": not options["as_exposed"],
            "positions": read_file(path).decode(errors="replace") if path else "",
            "frames": [image.pk for image in offered(look)],
        }
        form = MosaicForm(said, instance=Mosaic(examination=look), user=user)
        if not form.is_valid():
            self._refuse(form)
        if options["dry_run"]:
            self.stdout.write(f"{len(form.chosen)} frames; nothing was made (dry run).")
            return
        if not form.store():
            self._refuse(form)
        item: Mosaic = form.instance
        mosaics.begin(item)
        self.stdout.write(f"{len(form.chosen)} frames, mosaic {item.pk}: {item.get_absolute_url()}")
        if options["work"]:
            self._work(item)

    def _refuse(self, form: MosaicForm) -> None:
        for name, errors in form.errors.items():
            option = "FOLDER" if name == "folder" else f"--{name.replace('_', '-')}"
            self.stderr.write(f"{option}: {' '.join(map(str, errors))}")
        raise CommandError("Nothing was made.")

    def _work(self, item: Mosaic) -> None:
        """Take steps until the mosaic is made; other workers may take some of them."""
        item.refresh_from_db()
        while item.stage in mosaics.WORKING:
            with app.replace_connector(app.connector.get_worker_connector()) as working:  # type: ignore[attr-defined]
                working.run_worker(queues=["mosaics"], wait=False, install_signal_handlers=False)
            time.sleep(0.2)
            item.refresh_from_db()
        if item.stage == MosaicStage.FAILED:
            raise CommandError(item.error)
        report = item.report or {}
        mm = f", {report['rms_mm']:.3f} mm" if report["rms_mm"] is not None else ""
        self.stdout.write(f"Residual {report['rms_px']:.2f} px{mm}. Image {item.result_id}.")
        unplaced = [frame for frame in report["frames"] if not frame["place"]]
        for frame in unplaced[:WORTH_NAMING]:
            self.stdout.write(f"Not placed: {frame['name']}. {frame['why']}")
        if len(unplaced) > WORTH_NAMING:
            self.stdout.write(f"{len(unplaced) - WORTH_NAMING} more frames were not placed.")
