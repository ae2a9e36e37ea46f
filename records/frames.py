"""Frames of mosaics: images of the examination, or files kept for the mosaic alone.

Hundreds of frames come from a folder in the ingest folder, in the order of the numbers in their
names. Each is fetched by a step of the task queue, as carefully as an image (`records.arrivals`),
but without a record and tiles of its own. What is refused is told and stays where it lies.
"""

import hashlib
import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path, PurePath
from typing import Any

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db.models import QuerySet
from django.utils.text import get_valid_filename

from records.arrivals import LONGEST_NAME, SETTLED, copy_unaltered, in_ingest_folder
from records.changes import change
from records.choices import FrameRole, MosaicStage
from records.fixity import sha256_of
from records.imaging.originals import OriginalError, probe, read_through
from records.models import Arrival, Examination, Image, Mosaic, MosaicFrame, MosaicStep, User

Position = tuple[float, float]


def in_order(name: str) -> list[Any]:
    """A key that sorts names as people count: frame 9 before frame 10."""
    return [int(part) if part.isdigit() else part.lower() for part in re.split(r"(\d+)", name)]


def role_of(path: PurePath) -> FrameRole:
    """What a file of a folder of frames is, by the word that its name begins with."""
    for role in (FrameRole.DARK, FrameRole.FLAT):
        if path.name.lower().startswith(role.value):
            return role
    return FrameRole.FRAME


def folders() -> dict[str, list[Path]]:
    """Folders in the ingest folder that hold image files, by their path in it ('.' for itself),
    each with its files in their order; what is on its way already is left out."""
    arriving = Arrival.objects.exclude(in_folder="").exclude(state__in=SETTLED)
    on_the_way = set(arriving.values_list("in_folder", flat=True))
    announced = MosaicStep.objects.filter(
        stage=MosaicStage.FETCHING, done_at=None, mosaic__withdrawn_at=None
    )
    on_the_way |= set(announced.values_list("inputs__path", flat=True))
    found: dict[str, list[Path]] = {}
    for path in in_ingest_folder():
        if str(path) not in on_the_way:
            found.setdefault(str(path.parent), []).append(path)
    return {folder: sorted(found[folder], key=_by_name) for folder in sorted(found, key=in_order)}


def offered(look: Examination) -> QuerySet[Image]:
    """The images of an examination that may be frames: all that are no mosaic themselves."""
    images = Image.objects.filter(examination=look, withdrawn_at=None, made_as_mosaic=None)
    return images.order_by("title", "pk")


def _by_name(path: Path) -> list[Any]:
    return in_order(path.name)


def lay(
    item: Mosaic,
    role: FrameRole,
    images: Sequence[Image],
    places: Sequence[Position | None] | None = None,
) -> None:
    """Record images as frames of a mosaic, within a `change`, in this order."""
    places = places or [None] * len(images)
    MosaicFrame.objects.bulk_create(
        MosaicFrame(
            mosaic=item,
            role=role,
            number=number,
            name=image.title,
            image=image,
            sha256=image.sha256,
            stage_x=place[0] if place else None,
            stage_y=place[1] if place else None,
        )
        for number, (image, place) in enumerate(zip(images, places, strict=True), 1)
    )


def announce(
    item: Mosaic, paths: Sequence[Path], places: Mapping[Path, Position | None], user: User
) -> None:
    """Note files of the ingest folder that are to be fetched, in this order, for a mosaic."""
    counts = dict.fromkeys(FrameRole, 0)
    steps: list[MosaicStep] = []
    for path in paths:
        role = role_of(path)
        counts[role] += 1
        told = {
            "path": str(path),
            "role": role.value,
            "number": counts[role],
            "place": places.get(path),
            "user": user.pk,
        }
        key = hashlib.sha256(str(path).encode()).hexdigest()
        steps.append(
            MosaicStep(
                mosaic=item, stage=MosaicStage.FETCHING, key=key, number=len(steps), inputs=told
            )
        )
    MosaicStep.objects.bulk_create(steps)


def fetch(step: MosaicStep) -> dict[str, Any]:
    """Copy one file out of the ingest folder, compare, read it to its end and keep it as a frame.

    It is removed there once it is kept. Bears being done again.
    """
    told = step.inputs
    source = Path(settings.INGEST_ROOT) / told["path"]
    kept = MosaicFrame.objects.filter(
        mosaic=step.mosaic, role=told["role"], number=told["number"]
    ).first()
    if kept is None:
        try:
            kept = _kept(step, source)
        except OriginalError as error:
            return {"refused": f"“{source.name}” {error}"}
        except FileNotFoundError:
            return {"refused": f"“{source.name}” is no longer in the ingest folder."}
    source.unlink(missing_ok=True)
    return {"frame": kept.pk}


def _kept(step: MosaicStep, source: Path) -> MosaicFrame:
    told, item = step.inputs, step.mosaic
    with tempfile.TemporaryDirectory() as desk:
        copy = Path(desk) / source.name
        copy_unaltered(source, copy)
        probe(copy, source.name, most_pixels=settings.MOST_IMAGE_PIXELS)
        read_through(copy)
        digest = sha256_of(copy)
        plain = PurePath(get_valid_filename(source.name))
        name = f"frames/{item.pk}/{digest[:16]}/{plain.stem[:LONGEST_NAME]}{plain.suffix.lower()}"
        # A worker killed after storing leaves the same file behind.
        default_storage.delete(name)
        with copy.open("rb") as file:
            name = default_storage.save(name, File(file))
    place = told["place"] or (None, None)
    with change(user=User.objects.get(pk=told["user"]), why="recorded"):
        made: MosaicFrame = MosaicFrame.objects.create(
            mosaic=item,
            role=told["role"],
            number=told["number"],
            name=source.name,
            file=name,
            sha256=digest,
            stage_x=place[0],
            stage_y=place[1],
        )
    return made
