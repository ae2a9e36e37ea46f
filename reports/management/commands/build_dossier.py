"""Build a dossier through the task queue and follow it: manage.py build_dossier ACCESSION."""

import time
from argparse import ArgumentParser
from datetime import timedelta
from threading import Thread
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateWorker

from records.choices import Role
from records.models import Object, User
from reports.building import ask_for
from reports.choices import DossierState
from reports.models import Dossier

LOOK_EVERY_S = 0.5
PATIENCE_S = 30  # for a worker to take it up, or to give a sign of life at other work


def a_worker_lives() -> bool:
    """Whether any task worker has given a sign of life of late; it may have other work first."""
    since = timezone.now() - timedelta(seconds=PATIENCE_S)
    return ProcrastinateWorker.objects.filter(last_heartbeat__gte=since).exists()


class Command(BaseCommand):
    help = "Build a dossier about one object through the task queue, and print the file's path."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("accession", help="the object's accession number")
        parser.add_argument("--by", metavar="USERNAME", help="who asks (else an administrator)")
        parser.add_argument(
            "--request",
            metavar="TEXT",
            default="What is known of the object, for the file",
            help="the decision that it is made for",
        )
        parser.add_argument("--title", default="", help="title of the dossier")
        parser.add_argument(
            "--work",
            action="store_true",
            help="do the work here, when no task worker is running",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        item = Object.objects.filter(accession_number=options["accession"]).first()
        if item is None:
            raise CommandError(f"There is no object with the number {options['accession']!r}.")
        by = _who(options["by"])
        dossier = ask_for(item, by=by, request=options["request"], title=options["title"])
        worker = Thread(target=_work, daemon=True) if options["work"] else None
        if worker:
            worker.start()
        self._follow(dossier, worker)
        self.stdout.write(f"{dossier.page_count} pages, SHA-256 {dossier.sha256}")
        self.stdout.write(_place(dossier))

    def _follow(self, dossier: Dossier, worker: Thread | None) -> None:
        """Tell every step until the dossier is made; raises CommandError when it is not."""
        began, told = time.monotonic(), ""
        while dossier.state != DossierState.READY:
            if dossier.state == DossierState.FAILED:
                raise CommandError(dossier.error)
            # Our own worker first makes what was asked for before; another may not be there.
            waited = time.monotonic() - began
            patient = worker.is_alive() if worker else waited < PATIENCE_S or a_worker_lives()
            if dossier.state == DossierState.QUEUED and not patient:
                raise CommandError(
                    "No task worker has taken it up. Start one (manage.py procrastinate worker), or"
                    " give --work to do the work here. The dossier stays in the queue."
                )
            if dossier.step and dossier.step != told:
                told = dossier.step
                self.stderr.write(f"{dossier.progress:3d} %  {told}")
            time.sleep(LOOK_EVERY_S)
            dossier.refresh_from_db()


def _who(username: str | None) -> User:
    if username is None:
        found = User.objects.filter(role=Role.ADMINISTRATOR, is_active=True).first()
        if found is None:
            raise CommandError("No administrator has an account: say who asks with --by USERNAME.")
        return found
    found = User.objects.filter(username=username).first()
    if found is None:
        raise CommandError(f"There is no account {username!r}.")
    return found


def _work() -> None:
    """Run a worker until no dossier waits."""
    with app.replace_connector(app.connector.get_worker_connector()) as working:  # type: ignore[attr-defined]
        working.run_worker(queues=["dossiers"], wait=False, install_signal_handlers=False)


def _place(dossier: Dossier) -> str:
    """Where the file lies: a path on this machine or an address in the storage."""
    try:
        return str(dossier.file.path)
    except NotImplementedError:
        return str(dossier.file.url)
