"""Take a picture of every kind of page, wide and narrow, from a running demonstration.

    python -m deploy.pictures.take [URL]

Writes deploy/pictures/wide and deploy/pictures/narrow, a picture named after each page's address,
their gallery, deploy/pictures/README.md, and placing.webp and spectrum.webp, which show work going
on. The demonstration's task worker has to run, and a dossier to be there (`build_dossier`). Needs
the tools of requirements-dev.lock and a Chromium, as ./deploy/test sets them up.
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
            keep(page, folder / f"{name}.webp")
            taken[name] = Taken(name, page.title().removesuffix(" – Antequem"))
        context.close()
    return list(taken.values())


def keep(page: Page, path: Path) -> None:
    """Keep what the window shows."""
    picture = pyvips.Image.new_from_buffer(page.screenshot(), "")
    picture.webpsave(str(path), Q=QUALITY, effort=5)


def below_the_label(page: Page, beginning: str) -> None:
    """Move a part of the page to the top of the window."""
    page.locator(beginning).first.evaluate("part => part.scrollIntoView({block: 'start'})")
    settled(page)


def placing(page: Page) -> None:
    """An old photograph placed by points that the program has found, some left to accept."""
    page.goto(f"{the_painting(page)}images/")
    page.get_by_role("link", name="Postcard negative").first.click()
    page.get_by_role("link", name="Place on a face").click()
    known = page.locator("#id_reference option", has_text="Visible light, recto")
    page.select_option("#id_reference", known.get_attribute("value"))
    page.select_option("#id_method", "projective")
    settled(page)
    if page.get_by_role("button", name="Look for points").count():  # else it was asked before
        page.get_by_role("button", name="Look for points").click()
    page.get_by_role("button", name="Accept all").wait_for(timeout=120_000)
    page.get_by_text("The proposed points one by one").click()
    for _ in range(16):
        page.get_by_role("button", name=re.compile("^Accept point")).first.click()
    below_the_label(page, ".crumbs")
    page.hover("#pane-image", position={"x": 140, "y": 160})
    page.wait_for_timeout(1200)  # the lens follows
    keep(page, HERE / "placing.webp")


def spectrum(page: Page) -> None:
    """An X-ray spectrum with the elements that its evaluation has found."""
    page.goto(f"{the_painting(page)}laboratory/")
    links = (
        "nodes => nodes.map(node => node.pathname).filter(path => /analyses.[0-9]+.$/.test(path))"
    )
    for path in dict.fromkeys(page.locator("main a").evaluate_all(links)):
        page.goto(path)
        if page.get_by_role("row", name=re.compile("Lead .Pb.")).count():
            break
    page.get_by_role("button", name="Root of the height").click()
    below_the_label(page, "h2:has-text('Raw data')")
    keep(page, HERE / "spectrum.webp")


def work_going_on(browser: Browser, base: str) -> None:
    """Take the two pictures that need more than opening a page."""
    window = {"width": 1440, "height": 1000}
    for draw, account in ((placing, "conservator"), (spectrum, "scientist")):
        page = browser.new_context(base_url=base, viewport=window).new_page()  # type: ignore[arg-type]
        sign_in(page, account)
        draw(page)
        page.context.close()


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
        work_going_on(browser, base)
        wide, narrow = (take(browser, base, window) for window in WINDOWS)
        browser.close()
    (HERE / "README.md").write_text(gallery(wide, narrow))
    size = sum(file.stat().st_size for file in HERE.rglob("*.webp"))
    print(f"{len(wide)} pages wide, {len(narrow)} narrow, {size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
