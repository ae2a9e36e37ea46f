"""A scientist: from a sampling point to an accepted identification that moves a date."""

from uuid import uuid4

import pytest
from playwright.sync_api import expect

from tests.acceptance.actions import choose, save, wait_for_history
from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser

LABEL = "liner's retouching, left edge"  # nothing but its materials can say when it was made


def test_a_scientist_finds_a_pigment_that_dates_a_trace(sign_in: SignIn) -> None:
    page = sign_in("scientist")
    number = uuid4().hex[:6]
    page.get_by_role("navigation", name="Main").get_by_role("link", name="Objects").click()
    page.get_by_role("link", name="Lantern Evening at the Ossel Ferry").click()

    # nothing dates the trace yet: it is as old as the painting or younger
    page.get_by_role("link", name="History", exact=True).click()
    page.get_by_role("link", name="Bounds").click()
    wait_for_history(page)
    page.get_by_label("Kind of trace").select_option(label="Retouching")
    row = page.get_by_role("row", name=LABEL)
    expect(row).to_contain_text("1 Jan 1911")

    # a sampling point and the sample taken there
    page.get_by_role("link", name="Laboratory", exact=True).click()
    page.get_by_role("link", name="New sampling point on Recto").click()
    page.get_by_label("Number on this face").fill(f"T{number}")
    page.get_by_label("Place", exact=True).fill("1200, 1400")
    page.get_by_label("When").fill("2026-11")
    page.get_by_label("Material was removed").check()
    page.get_by_label("Who allowed it").fill("Head of paintings, 4 November 2026")
    save(page)
    page.get_by_role("link", name="New sample", exact=True).click()
    page.get_by_label("Number", exact=True).fill(f"S{number}")
    save(page)
    sample = page.url

    # an analysis with a reading
    page.get_by_role("link", name="New analysis").click()
    choose(page.get_by_label("Technique"), "electron microscopy with")
    page.get_by_label("When").fill("2026-11-12")
    save(page)
    page.get_by_role("link", name="New reading").click()
    page.get_by_label("Kind").select_option(label="Element")
    page.get_by_label("What was read").fill("Ti")
    page.get_by_label("How much").select_option(label="major")
    save(page)

    # a proposal, tied to the trace, and the decision on it
    page.goto(sample)
    page.get_by_role("link", name="Propose an identification").click()
    page.get_by_label("Material").select_option(label="Titanium white, rutile")
    page.get_by_role("textbox", name="Grounds").fill(
        "Titanium without barium or sulphur; the crystal form by diffraction."
    )
    page.get_by_role("group", name="Resting on these readings").get_by_role("checkbox").check()
    page.get_by_role("searchbox").last.fill(LABEL)
    page.get_by_role("radio", name=LABEL).check()
    save(page)
    expect(page.get_by_role("main")).to_contain_text("Proposed")
    page.get_by_role("link", name="Decide", exact=True).click()
    page.get_by_label("Accepted: the material is there").check()
    page.get_by_label("Why do you decide so?").fill("The diffraction pattern leaves no doubt.")
    save(page)
    expect(page.get_by_role("main")).to_contain_text("Accepted")

    # the history now has a later earliest day for the trace, and names the material
    page.get_by_role("link", name="History", exact=True).click()
    page.get_by_role("link", name="Bounds").click()
    wait_for_history(page)
    page.get_by_label("Kind of trace").select_option(label="Retouching")
    expect(row).to_contain_text("1 Jan 1945")  # rutile was common from then on
    row.get_by_role("link", name="1 January 1945").click()
    grounds = page.get_by_role("complementary", name="Grounds")
    expect(grounds).to_contain_text("titanium white, rutile")
