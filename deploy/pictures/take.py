"""Take a picture of every kind of page, wide and narrow, from a running demonstration.

    python -m deploy.pictures.take [URL]

Writes deploy/pictures/wide and deploy/pictures/narrow, a picture named after each page's address,
and their gallery, deploy/pictures/README.md. Needs the tools of requirements-dev.lock and a
Chromium, as ./deploy/test sets them up.
"""

import os
import re
import shutil
import sys
from pathlib import Path
from typing import NamedTuple

import django
import pyvips
from playwright.sync_api import Browser, Page, sync_playwright

from deploy.pictures.browser import ARGUMENTS, chromium
from deploy.pictures.walk import walk

HERE = Path(__file__).resolve().parent
PASSWORD = "lantern-evening"  # of the demonstration's accounts, printed by ./deploy/start
WINDOWS = {"wide": (1440, 900), "narrow": (390, 844)}
# Whose pages are taken, and what their names begin with; those seen before are not taken again.
PEOPLE = (("conservator", ""), ("scientist", ""), ("admin", ""), ("committee", "committee-"))
QUALITY = 62
DRAWN = "() => document.fonts.ready.then(() => [...document.images].every(i => i.complete))"


class Taken(NamedTuple):
    """A picture: the name of its file, the page's title."""

    name: str
    title: str


def sign_in(page: Page, account: str) -> None:
    page.goto("/login/")
    page.fill("[name=username]", account)
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "/login/" not in url)


def the_painting(page: Page) -> str:
    """Where the demonstration's richest object is."""
    page.goto("/objects/")
    link = page.get_by_role("link", name="Lantern Evening").first
    return str(link.get_attribute("href"))


def settled(page: Page) -> None:
    """Wait for typefaces and pictures, for what a page asks for once it is there, and for tiles."""
    page.wait_for_function(DRAWN)
    if page.locator("canvas, [hx-trigger*=load]").count():
        page.wait_for_load_state("networkidle")
    if page.locator("canvas").count():
        page.wait_for_timeout(1200)  # tiles fade in


def take(browser: Browser, base: str, window: str) -> list[Taken]:
    """Take every page at one size of the window."""
    width, height = WINDOWS[window]
    folder = HERE / window
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    taken: dict[str, Taken] = {}
    for account, prefix in PEOPLE:
        context = browser.new_context(
            base_url=base, viewport={"width": width, "height": height}, has_touch=width < 600
        )
        page = context.new_page()
        sign_in(page, account)
        for visit in walk(page, starts=("/", the_painting(page))):
            name = prefix + visit.route
            if name in taken:
                continue
            if visit.status >= 400:
                sys.exit(f"{visit.path} answers {visit.status}, linked from {visit.linked_from}")
            settled(page)
            picture = pyvips.Image.new_from_buffer(page.screenshot(), "")
            picture.webpsave(str(folder / f"{name}.webp"), Q=QUALITY, effort=5)
            taken[name] = Taken(name, page.title().removesuffix(" – Antequem"))
        context.close()
    return list(taken.values())


def gallery(wide: list[Taken], narrow: list[Taken]) -> str:
    """A table of all pictures, in the order in which a visitor comes upon the pages."""
    both = {one.name for one in narrow}
    rows = [
        f"| {re.sub(r'[|<>]', ' ', one.title)} | ![{one.name}](wide/{one.name}.webp) | "
        + (f"![{one.name}, narrow](narrow/{one.name}.webp) |" if one.name in both else " |")
        for one in wide
    ]
    head = (
        "# Every page\n\nAs the demonstration shows them, 1,440 and 390 pixels wide; made by\n"
        "`python -m deploy.pictures.take`.\n\n| page | wide | narrow |\n| --- | --- | --- |\n"
    )
    return head + "\n".join(rows) + "\n"


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    base = sys.argv[1] if len(sys.argv) > 1 else "http://127.0.0.1:8000"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        wide, narrow = (take(browser, base, window) for window in WINDOWS)
        browser.close()
    (HERE / "README.md").write_text(gallery(wide, narrow))
    size = sum(file.stat().st_size for file in HERE.rglob("*.webp"))
    print(f"{len(wide)} pages wide, {len(narrow)} narrow, {size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
