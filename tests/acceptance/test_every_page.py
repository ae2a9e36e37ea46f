"""Every page for everybody: reachable, accessible (WCAG 2.2 AA), within a narrow screen, no faults.

The pages are found by following links, so a new page is tested from the day it is linked.
"""

from collections import defaultdict
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from deploy.pictures.walk import Visit, walk
from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser

AXE = Axe()
WCAG_2_2_AA = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    "resultTypes": ["violations"],
}
# Elements that reach over the right edge, unless something around them scrolls or clips.
TOO_WIDE = """() => {
    if (document.documentElement.scrollWidth <= innerWidth) return [];
    const clipped = element => {
        for (let up = element.parentElement; up && up !== document.body; up = up.parentElement)
            if (getComputedStyle(up).overflowX !== "visible") return true;
        return false;
    };
    const wide = [...document.body.querySelectorAll("*")].filter(
        element => element.getBoundingClientRect().right > innerWidth + 0.5 && !clipped(element));
    return wide.slice(0, 3).map(element => element.cloneNode(false).outerHTML.slice(0, 160));
}"""
MADE_OF = """() => [...document.body.querySelectorAll("*")].map(
    element => `${element.tagName} ${element.getAttribute("class")} ${element.type}`)"""

# What the pages of each kind were made of when they were examined, by the window's width.
examined: defaultdict[tuple[str, int], set[str]] = defaultdict(set)


def inaccessible(page: Page) -> Iterator[str]:
    """What WCAG 2.2 AA asks for and the page lacks: rule, element, reason."""
    for rule in AXE.run(page, options=WCAG_2_2_AA).response["violations"]:
        for node in rule["nodes"][:3]:
            why = " ".join(node["failureSummary"].split())
            yield f"{rule['id']}: {node['target'][-1]} {node['html'][:160]} ({why[:300]})"


def faults(page: Page, visit: Visit, width: int) -> Iterator[str]:
    """What is wrong with the page shown.

    Somebody else's page is examined again only where it has something on it that was not there.
    """
    if visit.status >= 400:
        yield f"answers {visit.status}, linked from {visit.linked_from}"
        return
    yield from (f"wider than the screen: {element}" for element in page.evaluate(TOO_WIDE))
    parts = set(page.evaluate(MADE_OF))
    known = examined[visit.route, width]
    if not parts <= known:
        known |= parts
        yield from inaccessible(page)


@pytest.mark.parametrize(
    ("account", "width", "scheme", "at_least"),
    [
        ("conservator", 1440, "light", 110),
        ("conservator", 390, "dark", 110),
        ("scientist", 390, "light", 60),
        ("committee", 1440, "dark", 5),
        ("admin", 1440, "dark", 110),
    ],
)
def test_every_page_that_links_lead_to(
    sign_in: SignIn, account: str, width: int, scheme: str, at_least: int
) -> None:
    page = sign_in(account, width=width, scheme=scheme)
    found: list[str] = []
    page.on(
        "console",
        lambda said: found.append(f"{page.url}: {said.text}") if said.type == "error" else None,
    )
    visits = []
    for visit in walk(page):
        visits.append(visit)
        found += [f"{visit.route} {visit.path}: {f}" for f in faults(page, visit, width)]
    assert not found, "\n" + "\n".join(found)
    assert len(visits) >= at_least, sorted(visit.route for visit in visits)


@pytest.mark.parametrize(("width", "scheme"), [(1440, "dark"), (390, "light")])
def test_signing_in_and_being_turned_away(sign_in: SignIn, width: int, scheme: str) -> None:
    page = sign_in("committee", width=width, scheme=scheme)
    found: list[str] = []
    for path, heading in (
        ("/people/", "Not open to you"),
        ("/objects/0/", "Not here"),
        ("/login/", "Sign in"),
    ):
        if path == "/login/":
            page.context.clear_cookies()
        page.goto(path)
        expect(page.get_by_role("heading", level=1)).to_have_text(heading)
        found += [f"{path}: {f}" for f in (*page.evaluate(TOO_WIDE), *inaccessible(page))]
    assert not found, "\n" + "\n".join(found)
