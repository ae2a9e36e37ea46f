"""The real task queue in tests: a worker here that ends when nothing waits, or one to be killed."""

import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import quote, urlencode

from django.db import connection
from procrastinate.contrib.django import app

ROOT = Path(__file__).resolve().parents[3]


def empty_queue() -> None:
    """Forget what other tests have put into the queue, which no test's end does."""
    with connection.cursor() as cursor:
        cursor.execute("TRUNCATE procrastinate_jobs, procrastinate_workers CASCADE")


def work(queue: str = "dossiers") -> None:
    """Run a worker until nothing waits in a queue."""
    with app.replace_connector(app.connector.get_worker_connector()) as working:  # type: ignore[attr-defined]
        working.run_worker(queues=[queue], wait=False, install_signal_handlers=False)


def start_worker(media: Path, queue: str = "dossiers") -> subprocess.Popen[bytes]:
    """A worker in a process of its own, on the database of this test."""
    params = connection.get_connection_params()
    login = quote(params.get("user", ""))
    if password := params.get("password"):
        login += f":{quote(password)}"
    where = urlencode({k: params[k] for k in ("host", "port") if params.get(k)})
    url = f"postgis://{login}@/{params['dbname']}?{where}"
    return subprocess.Popen(
        [sys.executable, "manage.py", "procrastinate", "worker", "--queues", queue],
        cwd=ROOT,
        env={**os.environ, "DATABASE_URL": url, "MEDIA_ROOT": str(media)},
        stdout=(media / "worker.log").open("wb"),
        stderr=subprocess.STDOUT,
    )
