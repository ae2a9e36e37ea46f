"""Making a dossier: asking for it, building it step by step in the open, freezing what was made.

A build may be stopped at any point and begun again: until the last step nothing refers to a file,
and the last step is one statement that only the first to arrive can make.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.core.files.base import ContentFile
from django.db import connection, transaction
from django.utils import timezone
from django.utils.text import slugify

from records import history as engine
from records.fixity import sha256
from records.models import Object, User
from records.reconstruction import store
from reports.choices import DossierState
from reports.content import Content, compile_object
from reports.history import History, current_history
from reports.models import Dossier
from reports.pdf import Rendered, RenderError, render

TELL_EVERY_S = 0.4
HISTORY_SHARE, CONTENT_SHARE = 5, 10  # per cent of the work, by feel
TRIES_FOR_QUIET = 3


class BuildError(Exception):
    """The dossier cannot be made; the message says why and what to do, to whoever asked for it."""


def ask_for(item: Object, *, by: User, request: str, title: str = "") -> Dossier:
    """Ask for a dossier: it is kept as waiting, and the task queue builds it."""
    with transaction.atomic():
        dossier = Dossier.objects.create(
            object=item,
            requested_by=by,
            request=request,
            title=title or f"Dossier on {item.accession_number}",
        )
        _defer(dossier)
    return dossier


def ask_again(dossier: Dossier) -> bool:
    """Ask once more for a dossier that could not be made; False when it has not failed."""
    with transaction.atomic():
        waiting = Dossier.objects.filter(pk=dossier.pk, state=DossierState.FAILED).update(
            state=DossierState.QUEUED, progress=0, step="", error=""
        )
        if waiting:
            _defer(dossier)
    return bool(waiting)


def _defer(dossier: Dossier) -> None:
    from reports.tasks import build_dossier  # the task imports what is above it

    # No two builds of one dossier run at once; a second one finds it finished and does nothing.
    # Somebody waits for it: it goes before tiles that are to be made.
    first = build_dossier.configure(lock=f"dossier {dossier.pk}", priority=10)
    first.defer(dossier_id=dossier.pk)


def build(dossier_id: int) -> None:
    """Make the dossier's file and freeze it. Does nothing when it is frozen already.

    A failure is told in the dossier in words, then raised.
    """
    dossier = Dossier.objects.select_related("object", "requested_by").get(pk=dossier_id)
    if dossier.state == DossierState.READY:
        return
    told = Telling(dossier)
    told.begin()
    try:
        history, content = _read(dossier, told)
        share = (99 - CONTENT_SHARE) / 100
        rendered = render(
            dossier,
            content,
            history,
            lambda done, words: told(CONTENT_SHARE + 100 * share * done, words),
        )
        told(99, "Keeping the file")
        _freeze(dossier, rendered, history)
    except Exception as error:
        told.fail(_in_words(error, told.words))
        raise


class Telling:
    """Tells how far the build is, outside any other transaction, so that the page sees it."""

    def __init__(self, dossier: Dossier) -> None:
        self.row = Dossier.objects.filter(pk=dossier.pk).exclude(state=DossierState.READY)
        self.words = ""
        self.percent = 0.0
        self.last = 0.0

    def __call__(self, percent: float, words: str) -> None:
        self.words = words
        self.percent = max(self.percent, percent)  # the layout goes over its pages more than once
        if time.monotonic() - self.last >= TELL_EVERY_S:
            self.last = time.monotonic()
            self.row.update(progress=round(self.percent), step=words[:120])

    def begin(self) -> None:
        self.row.update(state=DossierState.BUILDING, progress=0, step="Starting", error="")

    def fail(self, sentence: str) -> None:
        self.row.update(state=DossierState.FAILED, step="", error=sentence)


def _read(dossier: Dossier, told: Callable[[float, str], None]) -> tuple[History, Content]:
    """The history and the records of one and the same moment."""
    for _ in range(TRIES_FOR_QUIET):
        told(0, "Working out the history")
        for done, _kept in enumerate(store.compute(dossier.object), start=1):
            told(HISTORY_SHARE * done / 3, "Working out the history")
        told(HISTORY_SHARE, "Reading the records")
        with moment():
            if history := current_history(dossier.object):
                return history, compile_object(
                    dossier.object, timezone.now(), history.traces, history.worked_out
                )
    raise BuildError("The records were being changed all the while. Ask for the dossier again.")


@contextmanager
def moment() -> Iterator[None]:
    """Read everything as it stands at one moment, whatever is being changed meanwhile."""
    nested = connection.in_atomic_block
    with transaction.atomic():
        if not nested:
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield


def _freeze(dossier: Dossier, rendered: Rendered, history: History) -> None:
    """Keep the file and, in one statement, tie it to the dossier for good."""
    file = ContentFile(rendered.pdf)
    digest = sha256(file)
    storage = Dossier._meta.get_field("file").storage
    place = slugify(dossier.object.accession_number)
    name = f"dossiers/{place}-{dossier.pk}-{digest[:12]}.pdf"
    if storage.exists(name):
        storage.delete(name)  # left half-written by a build that was stopped
    name = storage.save(name, file)
    with storage.open(name) as kept:
        if sha256(kept) != digest:
            raise BuildError("The file was not kept as it was made. Check the storage's disk.")
    frozen = (
        Dossier.objects.filter(pk=dossier.pk)
        .exclude(state=DossierState.READY)
        .update(
            state=DossierState.READY,
            progress=100,
            step="",
            error="",
            file=name,
            sha256=digest,
            page_count=rendered.page_count,
            case_sha256=history.case_sha256,
            finished_at=timezone.now(),
        )
    )
    if not frozen and Dossier.objects.get(pk=dossier.pk).file.name != name:
        storage.delete(name)


def _in_words(error: Exception, step: str) -> str:
    """What went wrong as a sentence for whoever asked for the dossier."""
    match error:
        case BuildError():
            return str(error)
        case engine.CaseError():
            return f"The history could not be worked out from the records: {error}"
        case RenderError():
            return f"{error}. Check the image files of the object, then ask for it again."
        case OSError():
            reason = error.strerror or str(error)
            return (
                f"The file could not be kept ({reason}). See that the storage can be written to and"
                " has room, then ask for it again."
            )
        case _:
            during = f" while {step[:1].lower()}{step[1:]}" if step else ""
            return (
                f"Something unforeseen happened{during}: {type(error).__name__}: {error}. Ask for"
                " it again; if it happens again, show this sentence and the task worker’s log to"
                " whoever looks after the program."
            )
