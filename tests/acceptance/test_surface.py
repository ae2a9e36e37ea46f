"""The surface of an object by mouse, by keyboard alone, and by finger on a narrow screen."""

import json
import re
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from tests.acceptance.actions import choose
from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser


def open_surface(page: Page) -> None:
    """From the list of objects to the surface of the demonstration's painting."""
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Surface").click()
    expect(page.locator("#map-found")).to_have_text(re.compile(r"\d+ traces in view"))


def test_a_trace_is_found_in_the_list_read_beside_the_map_and_linked_to(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    open_surface(page)
    page.keyboard.press("/")
    page.keyboard.type("spiral beside")
    rows = page.locator("#trace-list li")
    expect(rows).to_have_count(1)
    expect(page.locator("#map-found")).to_have_text(re.compile(r"^1 trace in view"))
    rows.get_by_role("link").press("Enter")
    grounds = page.get_by_role("complementary", name="Grounds")
    expect(grounds.get_by_role("heading", level=3)).to_have_text("Spiral crack beside the tear")
    expect(page).to_have_url(re.compile(r"[?&]trace=\d+"))

    # the address brings somebody else to the same trace
    page.goto(page.url)
    expect(grounds.get_by_role("heading", level=3)).to_have_text("Spiral crack beside the tear")


def test_a_zone_is_drawn_with_the_keyboard_alone(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    open_surface(page)
    page.keyboard.press("n")
    page.get_by_text("New zone").locator("+ button").press("Enter")
    expect(page.locator("#map")).to_be_focused()
    for key in (" ", "ArrowRight", " ", "ArrowDown", " "):
        page.keyboard.press(key)
        page.wait_for_timeout(400)  # the map glides to its new place
    page.keyboard.press("Enter")
    grounds = page.get_by_role("complementary", name="Grounds")
    drawn = grounds.get_by_label("Outline").input_value()
    assert re.match(r"POLYGON\(\([\d. ]+(,[\d. ]+){3}\)\)$", drawn)
    name = f"Zone {uuid4().hex[:6]}"
    grounds.get_by_label("Name").fill(name)
    grounds.get_by_label("Outline").press("Control+Enter")
    expect(grounds.get_by_role("heading", name=name)).to_be_visible()


def test_a_shape_off_the_face_is_refused_and_mended_by_its_numbers(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    open_surface(page)
    page.locator("summary", has_text="Draw").click()
    page.get_by_text("New trace").locator("~ button").first.click()
    area = page.locator("#map").bounding_box()
    assert area is not None
    page.mouse.click(area["x"] + area["width"] / 2, area["y"] + area["height"] / 2)
    grounds = page.get_by_role("complementary", name="Grounds")
    grounds.get_by_label("Kind").select_option(label="Paint loss")
    choose(grounds.get_by_label("Seen in"), "Raking light, 2021")
    place = grounds.get_by_label("Its shape")
    place.fill("POINT(2412 300)")
    grounds.get_by_role("button", name="Save").click()
    expect(grounds).to_contain_text("12.0 mm outside")
    place.fill("POINT(2390 300)")
    grounds.get_by_role("button", name="Save").click()
    expect(grounds.get_by_role("heading", level=3)).to_have_text(re.compile("Paint loss"))
    expect(page.get_by_role("status").first).to_contain_text("saved")


def test_a_length_is_measured_in_the_millimetres_of_the_face(sign_in: SignIn) -> None:
    page = sign_in("scientist")
    open_surface(page)
    set_up = json.loads(page.locator("#surface-set-up").text_content() or "")
    page.locator("summary", has_text="Measure").click()
    page.get_by_role("button", name="a length").click()
    area = page.locator("#map").bounding_box()
    assert area is not None
    middle = area["y"] + area["height"] / 2
    # The whole face is in view, fitted to the map with 14 px around it.
    room = (area["width"] - 28, area["height"] - 28)
    mm_per_px = max(set_up["width"] / room[0], set_up["height"] / room[1])
    for x in (0.3, 0.7):
        page.mouse.click(area["x"] + area["width"] * x, middle)
        page.wait_for_timeout(400)  # two quick presses would be the last one, pressed twice
    page.get_by_role("button", name="Finish").click()
    told = page.locator("#draw-result").text_content() or ""
    found = re.fullmatch(r"Length ([\d.]+)\u202fcm", told)
    assert found, told
    assert abs(float(found[1]) * 10 - area["width"] * 0.4 * mm_per_px) < 3 * mm_per_px


def test_two_pictures_are_compared_behind_a_curtain(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    open_surface(page)
    for layer in ("Traces", "Sampling points"):
        page.get_by_label(layer, exact=True).uncheck()
    canvas = page.locator("#map")
    page.wait_for_load_state("networkidle")
    alone = canvas.screenshot()
    choose(page.get_by_label("over it"), "X-radiograph")
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(500)
    curtain = page.get_by_label("Share of the picture over the other, per cent")
    half = canvas.screenshot()
    curtain.fill("0")
    page.wait_for_timeout(500)
    none = canvas.screenshot()
    curtain.fill("100")
    page.wait_for_timeout(500)
    full = canvas.screenshot()
    assert none == alone
    assert len({alone, half, full}) == 3


def test_grounds_open_from_below_for_a_finger_on_a_narrow_screen(sign_in: SignIn) -> None:
    page = sign_in("conservator", width=390, height=844)
    open_surface(page)
    page.locator("#trace-list a").first.tap()
    grounds = page.get_by_role("complementary", name="Grounds")
    expect(grounds.get_by_role("heading", level=3)).to_be_visible()
    sheet, area = grounds.bounding_box(), page.locator("#map").bounding_box()
    assert sheet is not None
    assert area is not None
    assert area["y"] + area["height"] <= sheet["y"] + 1  # the map stays in sight above it
    grounds.get_by_role("button", name="Close").tap()
    expect(grounds).to_be_hidden()
