"""Take the pictures of README.md from a running demonstration: take.py [URL].

Needs Debian's Chromium and the tools of requirements-dev.lock, as ./deploy/test sets them up.
"""

import sys
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).resolve().parent
PASSWORD = "lantern-evening"  # of the demonstration's accounts, printed by ./deploy/start
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
WIDE, NARROW = (1440, 900), (390, 844)
PICTURES: list[tuple[str, str, str, tuple[int, int]]] = [
    ("desk", "conservator", "/", WIDE),
    ("objects", "conservator", "/objects/", WIDE),
    ("object", "conservator", "/objects/{object}/", WIDE),
    ("surface", "conservator", "/objects/{object}/surface/", WIDE),
    ("surface-narrow", "conservator", "/objects/{object}/surface/", NARROW),
    ("history", "conservator", "/objects/{object}/history/", WIDE),
    ("history-narrow", "conservator", "/objects/{object}/history/", NARROW),
    ("contradictions", "conservator", "/objects/{object}/history/contradictions", WIDE),
    ("day", "conservator", "/objects/{object}/history/day", WIDE),
    ("sequence", "conservator", "/objects/{object}/history/sequence", WIDE),
    ("attribution", "conservator", "/objects/{object}/history/attribution", WIDE),
    ("treatments", "conservator", "/objects/{object}/treatments/", WIDE),
    ("laboratory", "scientist", "/objects/{object}/laboratory/", WIDE),
    ("images", "conservator", "/objects/{object}/images/", WIDE),
    ("papers", "conservator", "/objects/{object}/papers/", WIDE),
    ("dossiers", "committee", "/objects/{object}/dossiers/", WIDE),
    ("committee-desk", "committee", "/", NARROW),
    ("vocabulary", "scientist", "/vocabulary/", WIDE),
    ("import", "conservator", "/import/", WIDE),
]


def sign_in(page: Page, base: str, name: str) -> None:
    page.goto(f"{base}/login/")
    page.fill("[name=username]", name)
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "/login/" not in url)


def main() -> None:
    base = sys.argv[1] if len(sys.argv) > 1 else "http://127.0.0.1:8000"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        for name, who, path, (width, height) in PICTURES:
            page = browser.new_page(viewport={"width": width, "height": height})
            sign_in(page, base, who)
            answer = page.goto(base + path.format(object=1))
            if answer is None or not answer.ok:
                sys.exit(f"{path} does not answer: {answer and answer.status}")
            page.wait_for_load_state("networkidle")
            page.wait_for_timeout(1500)  # tiles fade in
            page.screenshot(path=HERE / f"{name}.png")
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
