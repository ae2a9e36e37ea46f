"""Dossiers in the task queue, and work that a stopped worker left behind."""

from django.db import OperationalError
from django.utils import timezone
from procrastinate import RetryStrategy
from procrastinate.contrib.django import app
from procrastinate.jobs import Job, Status

from records.choices import ArrivalState, MosaicStage
from records.models import Arrival, Image, Mosaic
from records.tasks import make_image_pyramid, settle_arrival, take_mosaic_step
from reports import building
from reports.choices import DossierState
from reports.models import Dossier

MOST_STARTS = 3
# The connection to the database may break: such a build is worth another try.
RETRY = RetryStrategy(max_attempts=MOST_STARTS, wait=10, retry_exceptions={OperationalError})


@app.task(queue="dossiers", name="build_dossier")
def build_dossier(dossier_id: int) -> None:
    """Make and freeze one dossier."""
    building.build(dossier_id)


@app.periodic(cron="* * * * *")
@app.task(name="take_up_abandoned", queueing_lock="take_up_abandoned")
async def take_up_abandoned(timestamp: int) -> None:
    """Begin again what a killed worker had begun; give up on what has been begun too often.

    A worker counts as killed when it has given no sign of life for 30 s.
    """
    for job in await app.job_manager.get_stalled_jobs():
        if job.attempts < MOST_STARTS:
            await app.job_manager.retry_job(job)
        else:
            await give_up(job)


async def give_up(job: Job) -> None:
    """Mark a job as failed, and say so where people look."""
    assert job.id is not None
    await app.job_manager.finish_job_by_id_async(
        job_id=job.id, status=Status.FAILED, delete_job=False
    )
    if job.task_name == build_dossier.name:
        unfinished = Dossier.objects.exclude(state=DossierState.READY)
        await unfinished.filter(pk=str(job.task_kwargs["dossier_id"])).aupdate(
            state=DossierState.FAILED,
            step="",
            error=f"The task worker was stopped {MOST_STARTS} times while making it, last"
            f" before {timezone.localtime():%H:%M}. It may lack memory: see its log; ask again.",
        )
    words = f"The task worker was stopped {MOST_STARTS} times over it: it may lack memory."
    if job.task_name == make_image_pyramid.name:
        image = Image.objects.filter(pk=str(job.task_kwargs["image_id"]))
        await image.aupdate(pyramid_progress=None, pyramid_error=words)
    elif job.task_name == settle_arrival.name:
        arrival = Arrival.objects.filter(pk=str(job.task_kwargs["arrival_id"]))
        await arrival.aupdate(state=ArrivalState.REFUSED, problem=words)
    elif job.task_name == take_mosaic_step.name:
        unmade = Mosaic.objects.filter(
            steps__pk=str(job.task_kwargs["step_id"]), steps__done_at=None
        )
        await unmade.aupdate(
            stage=MosaicStage.FAILED,
            error=f"{words} What is done of the mosaic is kept: join again to go on.",
        )
