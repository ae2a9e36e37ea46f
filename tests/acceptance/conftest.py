"""A whole installation for the browser: its own database, files, web server and task worker.

Nothing is replaced: the pages come from gunicorn, tasks run in a worker process, and the records
are the demo's, loaded into a database that is made for this run and dropped after it. With
`--reuse-db` it is kept, so that a second run starts at once. Each process of pytest-xdist has an
installation of its own.
"""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit
from urllib.request import urlopen

import psycopg
import pytest
from playwright.sync_api import Browser, Page, Playwright, sync_playwright

from deploy.pictures.browser import ARGUMENTS
from deploy.pictures.browser import chromium as chromium_here

ROOT = Path(__file__).resolve().parents[2]
PASSWORD = "lantern-evening"  # of the demo's accounts, as ./deploy/start prints it


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep the journeys of a file in one process; those to every page, of one window's width."""
    for item in items:
        width = item.callspec.params.get("width", "") if hasattr(item, "callspec") else ""
        item.add_marker(pytest.mark.xdist_group(f"{item.path.stem} {width}"))


@dataclass(frozen=True)
class Installation:
    """A running installation: where it answers, and the environment its processes have."""

    url: str
    environment: dict[str, str]

    def manage(self, *arguments: str) -> str:
        """Run a management command and return what it prints."""
        return subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=ROOT,
            env=self.environment,
            check=True,
            stdout=subprocess.PIPE,
            text=True,
        ).stdout


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


def _database() -> tuple[str, str, str]:
    """The name of this run's database, the server's maintenance address, and the database's."""
    given = os.environ.get("DATABASE_URL") or f"postgis://antequem@/antequem?host={ROOT}/var/run"
    parts = urlsplit(given)
    worker = os.environ.get("PYTEST_XDIST_WORKER", "")
    name = f"acceptance{worker}_{parts.path.strip('/')}"
    return (
        name,
        urlunsplit(parts._replace(scheme="postgresql", path="/postgres")),
        urlunsplit(parts._replace(path=f"/{name}")),
    )


def _wait_for(url: str, server: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(300):
        if server.poll() is not None:
            break
        try:
            with urlopen(url, timeout=10):
                return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError(f"The web server does not answer at {url}:\n{log.read_text()[-4000:]}")


@pytest.fixture(scope="session")
def installation(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Installation]:
    """A demo installation with a web server and a task worker of its own."""
    keep = request.config.getoption("reuse_db")
    name, maintenance, url = _database()
    files = ROOT / "var" / name if keep else tmp_path_factory.mktemp("installation")
    files.mkdir(parents=True, exist_ok=True)
    port = _free_port()
    here = Installation(
        url=f"http://127.0.0.1:{port}",
        environment={
            **os.environ,
            "DATABASE_URL": url,
            "MEDIA_ROOT": str(files / "media"),
            "INGEST_ROOT": str(files / "ingest"),
        },
    )
    with psycopg.connect(maintenance, autocommit=True) as server:
        exists = server.execute("select 1 from pg_database where datname = %s", [name]).fetchone()
        if exists and not keep:
            server.execute(f'drop database "{name}" with (force)')
        if not (exists and keep):
            server.execute(f'create database "{name}"')
    here.manage("migrate", "--verbosity", "0")
    here.manage("load_demo", "--small-images")

    log = files / "web.log"
    with log.open("wb") as web_log, (files / "worker.log").open("wb") as worker_log:
        processes = [
            subprocess.Popen(
                [
                    sys.executable,
                    "-m",
                    "gunicorn",
                    "deploy.wsgi",
                    "--bind",
                    f"127.0.0.1:{port}",
                    "--threads",
                    "4",
                ],
                cwd=ROOT,
                env=here.environment,
                stdout=web_log,
                stderr=subprocess.STDOUT,
            ),
            subprocess.Popen(
                [sys.executable, "manage.py", "procrastinate", "worker"],
                cwd=ROOT,
                env=here.environment,
                stdout=worker_log,
                stderr=subprocess.STDOUT,
            ),
        ]
        try:
            _wait_for(f"{here.url}/login/", processes[0], log)
            yield here
        finally:
            for process in processes:
                process.terminate()
            for process in processes:
                process.wait(timeout=60)
            if not keep:
                with psycopg.connect(maintenance, autocommit=True) as server:
                    server.execute(f'drop database "{name}" with (force)')


@pytest.fixture(scope="session")
def playwright_driver() -> Iterator[Playwright]:
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def chromium(playwright_driver: Playwright) -> Iterator[Browser]:
    """The machine's Chromium, or Playwright's own where the distribution has none."""
    browser = playwright_driver.chromium.launch(executable_path=chromium_here(), args=ARGUMENTS)
    yield browser
    browser.close()


SignIn = Callable[..., Page]


@pytest.fixture
def sign_in(installation: Installation, chromium: Browser) -> Iterator[SignIn]:
    """Open a browser window of its own and sign in through the form: `sign_in("conservator")`.

    `width`, `height` are the window's size in CSS pixels; `scheme` is 'light' or 'dark'. A script
    that fails on a page fails the test.
    """
    faults: list[str] = []
    with ExitStack() as windows:

        def window(
            account: str, *, width: int = 1440, height: int = 1000, scheme: str = "light"
        ) -> Page:
            context = chromium.new_context(
                base_url=installation.url,
                viewport={"width": width, "height": height},
                color_scheme="dark" if scheme == "dark" else "light",
                has_touch=width < 600,
                accept_downloads=True,
            )
            windows.callback(context.close)
            page = context.new_page()
            page.on("pageerror", lambda fault: faults.append(f"{page.url}: {fault}"))
            page.goto("/login/")
            page.get_by_label("Username").fill(account)
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url("**/")
            return page

        yield window
    assert not faults, "\n".join(faults)
