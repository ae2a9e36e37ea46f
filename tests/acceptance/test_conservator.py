"""A conservator: from a new object to its dated history, with the reasons for a date."""

from uuid import uuid4

import pytest
from playwright.sync_api import expect

from tests.acceptance.actions import choose, save, wait_for_history
from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser


def test_a_conservator_records_a_new_object_and_reads_its_history(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    number = f"A 2026.{uuid4().hex[:6]}"

    # the object and one face of it
    page.get_by_role("navigation", name="Main").get_by_role("link", name="Objects").click()
    page.get_by_role("link", name="New object").click()
    page.get_by_label("Accession number").fill(number)
    page.get_by_label("Title").fill("Quay in Fog")
    page.get_by_label("Date").fill("1890~")
    expect(page.get_by_text("Understood as: about 1890")).to_be_visible()
    page.get_by_label("Kind of object").select_option(label="Painting on canvas")
    save(page)
    home = page.url
    page.get_by_role("link", name="Add a face").click()
    page.get_by_label("Name").fill("Recto")
    page.get_by_label("Kind").select_option(label="Recto")
    page.get_by_label("Width (mm)").fill("800")
    page.get_by_label("Height (mm)").fill("600")
    save(page)

    # two surveys
    page.goto(f"{home}images/")
    page.get_by_role("link", name="New campaign").click()
    page.get_by_label("Title").fill("Condition surveys")
    page.get_by_label("Purpose").select_option(label="Condition survey")
    save(page)
    campaign = page.url
    for day in ("1990-05-14", "2010-06-02"):
        page.goto(campaign)
        page.get_by_role("link", name="New examination").click()
        page.get_by_label("Technique").select_option(label="Visible light photography")
        page.get_by_label("When").fill(day)
        page.get_by_label("Recto").check()
        save(page)

    # a patch, drawn as the second survey shows it; the first one shows none
    page.goto(home)
    page.get_by_role("link", name="Surface", exact=True).click()
    page.locator("summary", has_text="Draw").click()
    page.get_by_role("button", name="area").first.click()
    area = page.locator("#map").bounding_box()
    assert area is not None
    for across, down in ((0.4, 0.4), (0.5, 0.4), (0.5, 0.55), (0.4, 0.55)):
        page.mouse.click(area["x"] + area["width"] * across, area["y"] + area["height"] * down)
        page.wait_for_timeout(400)  # two quick presses would be the last one, pressed twice
    page.get_by_role("button", name="Finish").click()
    grounds = page.get_by_role("complementary", name="Grounds")
    grounds.get_by_label("Kind").select_option(label="Patch")
    grounds.get_by_label("Label").fill("patch below the mast")
    choose(grounds.get_by_label("Seen in"), "2010")
    grounds.get_by_role("button", name="Save").click()
    expect(grounds.get_by_role("heading", name="Patch below the mast")).to_be_visible()
    expect(grounds).to_contain_text("cm²")
    grounds.get_by_role("link", name="Open the record").click()
    page.get_by_role("link", name="New sighting").click()
    choose(page.get_by_label("Looked at in"), "1990")
    page.get_by_label("What was found").select_option(label="Not seen")
    save(page)
    expect(page.get_by_role("table")).to_contain_text("Not seen")

    # the treatment that made it
    page.goto(f"{home}treatments/")
    page.get_by_role("link", name="New treatment").click()
    page.get_by_label("Kind").select_option(label="Patching")
    page.get_by_label("Title").fill("Patch put on behind the mast")
    page.get_by_label("When").fill("2001-03/2001-04")
    save(page)
    page.get_by_role("link", name="Add an effect").click()
    page.get_by_role("searchbox").fill("mast")
    page.get_by_role("radio").first.check()
    save(page)

    # the history dates the patch, and says by which records
    page.get_by_role("link", name="History", exact=True).click()
    page.get_by_role("link", name="Bounds").click()
    wait_for_history(page)
    row = page.get_by_role("row", name="patch below the mast")
    expect(row).to_contain_text("1 Mar 2001")
    expect(row).to_contain_text("30 Apr 2001")
    row.get_by_role("link", name="30 April 2001").click()
    expect(grounds).to_contain_text("Patch put on behind the mast")
    grounds.get_by_role("link", name="Patch put on behind the mast").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Patch put on behind the mast")
