"""Long work on records, done by the task queue."""

import shutil
from contextlib import suppress
from functools import partial
from pathlib import Path

from django.conf import settings
from django.db import OperationalError, transaction
from procrastinate import RetryStrategy
from procrastinate.contrib.django import app
from procrastinate.exceptions import AlreadyEnqueued

from records import mosaics
from records.arrivals import settle
from records.imaging.comparing import ComparingError, keep_values
from records.imaging.pyramid import PyramidError, make_pyramid
from records.kept import at_hand
from records.models import Arrival, Image, Object, Placement, PointProposal
from records.placing import propose, redraw
from records.reconstruction.store import compute, tidy

PYRAMIDS = "pyramids"
TILES_SHARE = 70  # per cent of the work on an image whose values are kept too


@app.task(queue="histories")
def reconstruct(object_pk: int) -> None:
    """Work out an object's history at every degree of trust, and keep the results."""
    item = Object.objects.get(pk=object_pk)
    for _ in compute(item):
        pass
    tidy(item)


def request_pyramid(image_id: int) -> None:
    """Have the tiles of an image made, or made anew, unless that is waiting to be done already."""
    name = f"pyramid-{image_id}"
    Image.objects.filter(pk=image_id).update(pyramid_progress=0, pyramid_error="")
    # Inside a transaction of the caller a refusal would undo what the caller has done.
    with suppress(AlreadyEnqueued), transaction.atomic():
        make_image_pyramid.configure(lock=name, queueing_lock=name).defer(image_id=image_id)
    # What is redrawn of it shows the same window of values.
    for placement in Placement.objects.filter(image=image_id, withdrawn_at__isnull=True):
        request_redrawing(placement)


@app.task(queue="images")
def make_image_pyramid(image_id: int) -> None:
    """Make the tiles of an image, and, where it is long to read, keep its grey values smaller;
    tells how far it is, and a failure, with the image.

    Both can be made again from the original at any time, so they lie on this machine's disk even
    where the originals are kept elsewhere. The tiles that there are stay until the new ones are.
    """
    image = Image.objects.get(pk=image_id)
    mine = Image.objects.filter(pk=image_id)
    window = image.window
    name = f"{PYRAMIDS}/{image.pk}-{image.tiles_stamp}"
    mine.update(pyramid_progress=0, pyramid_error="")

    def told(percent: int, start: int = 0, end: int = 100) -> None:
        if percent % 5 == 0:
            mine.update(pyramid_progress=start + percent * (end - start) // 100)

    values = Path(settings.MEDIA_ROOT) / image.kept_values if image.kept_values else None
    tiles_told = partial(told, end=TILES_SHARE if values else 100)
    try:
        with at_hand(image.file) as original:
            make_pyramid(original, Path(settings.MEDIA_ROOT) / name, tiles_told, window)
            if values and not values.exists():
                keep_values(original, values, partial(told, start=TILES_SHARE))
    except (PyramidError, ComparingError) as error:
        mine.update(pyramid_progress=None, pyramid_error=str(error))
        return
    except FileNotFoundError:
        mine.update(pyramid_progress=None, pyramid_error="The original is not in the store.")
        return
    mine.update(pyramid=name, pyramid_progress=100, pyramid_error="")
    for old in (Path(settings.MEDIA_ROOT) / PYRAMIDS).glob(f"{image.pk}-*"):
        if old.name != Path(name).name:
            shutil.rmtree(old, ignore_errors=True)


@app.task(queue="images", priority=10)
def settle_arrival(arrival_id: str) -> None:
    """Check a file that has come, and keep or refuse it."""
    arrival = Arrival.objects.filter(pk=arrival_id).select_related("object", "user").first()
    if arrival is not None:
        settle(arrival)


def request_redrawing(placement: Placement) -> None:
    """Have an image redrawn as it lies now, once the change is made; not one that lies square."""
    if placement.rectified_progress is not None:
        task = redraw_placement.configure(lock=f"placement-{placement.pk}")
        transaction.on_commit(partial(task.defer, placement_id=placement.pk))


@app.task(queue="images")
def redraw_placement(placement_id: int) -> None:
    """Make the tiles of a placed image as it lies on its face."""
    placements = Placement.objects.select_related("image", "face")
    placement = placements.get(pk=placement_id)
    with at_hand(placement.image.file) as original:
        redraw(placement, original)


@app.task(queue="images", priority=5)
def propose_points(proposal_id: int) -> None:
    """Look for points that an image shares with one that is placed: somebody waits for them."""
    proposals = PointProposal.objects.select_related("image", "reference__image")
    proposal = proposals.get(pk=proposal_id)
    with (
        at_hand(proposal.image.file) as image,
        at_hand(proposal.reference.image.file) as reference,
    ):
        propose(proposal, image, reference)


@app.task(
    queue="mosaics",
    priority=-5,
    retry=RetryStrategy(max_attempts=3, retry_exceptions={OperationalError}),
)
def take_mosaic_step(step_id: int) -> None:
    """Take one step of a mosaic; any worker may take any step that is open. There may be a
    thousand: what somebody waits for goes before them."""
    mosaics.take(step_id)
