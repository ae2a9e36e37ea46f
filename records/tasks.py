"""Long work on records, done by the task queue."""

import shutil
import tempfile
from pathlib import Path

from django.conf import settings
from procrastinate.contrib.django import app

from records.imaging.pyramid import PyramidError, make_pyramid
from records.models import Image, Object
from records.reconstruction.store import compute, tidy


@app.task(queue="histories")
def reconstruct(object_pk: int) -> None:
    """Work out an object's history at every degree of trust, and keep the results."""
    item = Object.objects.get(pk=object_pk)
    for _ in compute(item):
        pass
    tidy(item)


@app.task(queue="images")
def make_image_pyramid(image_id: int) -> None:
    """Make the tiles of an image, telling how far it is; a failure is told with the image.

    Tiles can be made again from the original at any time, so they lie on this machine's disk even
    where the originals are kept elsewhere.
    """
    image = Image.objects.get(pk=image_id)
    mine = Image.objects.filter(pk=image_id)
    name = f"pyramids/{image.pk}-{image.sha256[:12]}"
    mine.update(pyramid_progress=0, pyramid_error="")

    def told(percent: int) -> None:
        if percent % 5 == 0:
            mine.update(pyramid_progress=percent)

    with tempfile.TemporaryDirectory() as desk:
        original = Path(desk) / f"original{Path(str(image.file.name)).suffix}"
        with image.file.open("rb") as kept, original.open("wb") as copy:
            shutil.copyfileobj(kept, copy, 1024 * 1024)
        try:
            make_pyramid(original, Path(settings.MEDIA_ROOT) / name, told)
        except PyramidError as error:
            mine.update(pyramid_progress=None, pyramid_error=str(error))
            return
    mine.update(pyramid=name, pyramid_progress=100, pyramid_error="")
