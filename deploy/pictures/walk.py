"""One page of every kind, found as a visitor finds them: by following links from the desk.

A kind of page is an address's name (`trace-edit`); the first record that a link leads to stands for
all. Parts of pages, files and downloads are no pages. New pages are found without being named here.
"""

from collections import Counter, deque
from collections.abc import Iterator
from typing import NamedTuple
from urllib.parse import urlsplit

from django.urls import Resolver404, resolve
from playwright.sync_api import Error, Page, Response

# Of a kind whose pages differ with what the record has, more than one is opened.
SEVERAL = {"image": 3}
LINKS = """() => [...document.querySelectorAll("a[href]:not([download])")]
    .filter(link => link.origin === location.origin)
    .map(link => link.pathname + link.search)"""


class Visit(NamedTuple):
    """A page as it was reached: the name and the path of its address, where from, its status."""

    route: str
    path: str
    linked_from: str
    status: int


def route_of(path: str) -> str:
    """The name of an address, '' for one that the program does not have."""
    try:
        return resolve(urlsplit(path).path).url_name or ""
    except Resolver404:
        return ""


def walk(page: Page, starts: tuple[str, ...] = ("/",)) -> Iterator[Visit]:
    """Open a page of every kind in the window, and yield while it is shown.

    Begins at `starts`. Whoever walks is signed in already. An address that sends its visitor
    elsewhere (the form of a signed record) does not stand for its kind: the next link to one does.
    """
    waiting = deque((route_of(path), path, "") for path in starts)
    shown: Counter[str] = Counter()
    tried: set[str] = set()
    while waiting:
        route, path, linked_from = waiting.popleft()
        if shown[route] >= SEVERAL.get(route, 1) or path in tried:
            continue
        tried.add(path)
        answer = _open(page, path)
        if answer is None or "text/html" not in answer.headers.get("content-type", ""):
            shown[route] += 1
            continue
        if route_of(page.url) != route:
            continue
        shown[route] += 1
        waiting.extend((route_of(link), link, path) for link in page.evaluate(LINKS))
        yield Visit(route, path, linked_from, answer.status)


def _open(page: Page, path: str) -> Response | None:
    """Load a page; None for what the browser would save as a file."""
    try:
        return page.goto(path)
    except Error as error:
        if "Download is starting" in error.message:
            return None
        raise
