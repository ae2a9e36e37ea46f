"""When a history is worked out anew: asked for once per object, however many records changed.

The task itself is `records.tasks.reconstruct`; which records matter is `watching`.
"""

from contextlib import suppress
from dataclasses import dataclass
from functools import partial

from django.db import transaction
from django.db.models import CharField, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Cast, Concat
from procrastinate.contrib.django.models import ProcrastinateJob
from procrastinate.exceptions import AlreadyEnqueued

from records import history
from records.choices import Trust
from records.models import Reconstruction
from records.reconstruction.evidence import Evidence, sha256

TASK = "records.tasks.reconstruct"
LOCK = "history of object "  # and its primary key
UNFINISHED = ("todo", "doing", "failed")


def request(object_pk: int) -> None:
    """Have the object's history worked out once the present transaction is committed.

    A task that already waits for the same object will do: it reads the records when it runs.
    """
    transaction.on_commit(partial(_defer, object_pk))


def _defer(object_pk: int) -> None:
    from records.tasks import reconstruct  # the task imports what is above it

    name = f"{LOCK}{object_pk}"
    # One waits at most, and no two run at once: the last change is always read.
    with suppress(AlreadyEnqueued):
        reconstruct.configure(queueing_lock=name, lock=name).defer(object_pk=object_pk)


def outdated(histories: QuerySet[Reconstruction]) -> QuerySet[Reconstruction]:
    """Those of the histories whose object has changed since: new work is asked for and not done."""
    name = Concat(Value(LOCK), Cast(OuterRef("object_id"), CharField()))
    newest = ProcrastinateJob.objects.filter(lock=name).order_by("-id").values("status")[:1]
    return histories.alias(work=Subquery(newest)).filter(work__in=UNFINISHED)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the work on an object's history is: `done` of `total` degrees of trust are solved."""

    state: str  # 'current', 'waiting', 'running' or 'failed'
    done: int
    total: int


def progress(evidence: Evidence) -> Progress:
    """Where the current history of an object stands."""
    wanted = Q()
    for trust in Trust.values:
        wanted |= Q(trust=trust, case_sha256=sha256(evidence.case(trust)))
    done = Reconstruction.objects.filter(
        wanted, object_id=evidence.object_pk, engine_version=history.VERSION
    ).count()
    if done == len(Trust):
        return Progress("current", done, len(Trust))
    job = (
        ProcrastinateJob.objects.filter(task_name=TASK, args__object_pk=evidence.object_pk)
        .order_by("-id")
        .first()
    )
    states = {"doing": "running", "failed": "failed"}
    return Progress(states.get(job.status, "waiting") if job else "waiting", done, len(Trust))
