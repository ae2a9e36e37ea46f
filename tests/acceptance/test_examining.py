"""Information sheets, coverage, comparison and sections in a browser, by mouse and by keyboard."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser


def open_examination(page: Page) -> None:
    """From the list of objects to the X-radiograph of the demonstration's painting."""
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Images").click()
    page.get_by_role("link", name="X-radiography").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("X-radiography")


def draw_by_keyboard(page: Page, moves: list[str]) -> None:
    """Set a point under the cross, then one after each way that the face is moved."""
    board = page.locator("#map")
    board.press(" ")
    for way in moves:
        for _ in range(2):
            board.press(way)
            page.wait_for_timeout(300)  # the map glides
        board.press(" ")
    board.press("Enter")


def test_a_sheet_asks_for_what_the_technique_needs_and_keeps_what_was_typed(
    sign_in: SignIn,
) -> None:
    page = sign_in("conservator")
    open_examination(page)
    page.get_by_role("link", name="Change", exact=True).click()
    voltage = page.get_by_label("Tube voltage (kV)")
    expect(voltage).to_have_value("28")
    voltage.fill("31")
    page.get_by_label("Technique").select_option(label="Raking light")
    expect(page.get_by_label("Light comes from")).to_be_visible()
    expect(voltage).to_have_value("31")
    page.get_by_label("Technique").select_option(label="X-radiography")
    expect(page.locator("#asked").get_by_text("Ionising radiation")).to_be_visible()
    expect(page.get_by_label("Light comes from")).to_have_count(0)


def test_what_was_covered_is_drawn_by_keyboard_and_the_rest_told(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    open_examination(page)
    page.get_by_role("link", name="Add what was covered").click()
    expect(page.locator("#board-words")).to_have_text("The whole face")
    page.get_by_role("button", name="Draw an area").press("Enter")
    expect(page.locator("#map")).to_be_focused()
    draw_by_keyboard(page, ["ArrowRight", "ArrowUp"])
    expect(page.locator("#board-words")).to_have_text(re.compile(r"(m²|cm²|mm²)$"))
    text = page.get_by_label("Part covered")
    expect(text).to_have_value(re.compile(r"^POLYGON\(\(.+\)\)$"))

    # typed, the area follows
    text.fill("100, 100; 500, 100; 500, 400; 100, 400")
    expect(page.locator("#board-words")).to_have_text("1200\u202fcm²")
    page.get_by_label("Why the rest was not covered").fill("The stretcher hides it.")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("The stretcher hides it.")).to_be_visible()
    expect(page.get_by_text("not examined").first).to_be_visible()

    with page.expect_response("**/sheet.pdf") as answer:
        page.evaluate("fetch(document.querySelector('a[href$=\"sheet.pdf\"]').href)")
    assert answer.value.headers["content-type"] == "application/pdf"


def test_two_photographs_are_compared_and_grey_values_read_along_a_line(sign_in: SignIn) -> None:
    page = sign_in("scientist")
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("link", name="Recto").first.click()
    page.get_by_role("link", name="Compare images by number").click()
    for label, picture in (("First image", "Museum photograph"), ("Second image", "Visible light")):
        choice = page.get_by_label(label)
        value = choice.locator("option", has_text=picture).first.get_attribute("value")
        choice.select_option(value=value)
    page.get_by_role("button", name="Compare", exact=True).click()
    expect(page.locator(".compare-verdict")).to_contain_text("certainly differs")

    page.get_by_role("button", name="Draw the line on the map").press("Enter")
    draw_by_keyboard(page, ["ArrowRight"])
    expect(page.get_by_label("Line", exact=True)).to_have_value(re.compile(r"^[\d.-]+, [\d.-]+; "))
    expect(page.locator("#profile .curve-names li")).to_have_count(2)
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save all values (CSV)").click()
    assert saved.value.suggested_filename.endswith(".csv")


def test_layers_are_drawn_on_a_section_and_measured(sign_in: SignIn) -> None:
    page = sign_in("scientist", width=390, height=800)
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Laboratory").click()
    page.get_by_role("link", name=re.compile(r"-X6$")).first.click()
    page.get_by_role("link", name="Draw on the photograph").click()
    page.get_by_role("button", name="Draw a boundary").press("Enter")
    draw_by_keyboard(page, ["ArrowRight"])
    page.get_by_role("textbox", name="Boundaries").fill(
        "100, 400; 600, 400\n100, 300; 600, 300\n100, 250; 600, 250"
    )
    expect(page.locator("#board-words")).to_contain_text("3 boundaries, 2 layers")
    page.get_by_label("Two points of known distance").fill("10, 500; 110, 500")
    page.get_by_label("Their distance (µm)").fill("50")
    page.get_by_role("button", name="Save and measure").click()
    expect(page.get_by_text("50.0–50.0, mean 50.0 ± 0.0")).to_be_visible()
    page.get_by_role("button", name="Take over what is ticked").click()
    expect(page.get_by_text("Measures of 2 layers taken over.")).to_be_visible()
