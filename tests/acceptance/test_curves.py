"""Curves looked at closely, in each of the ways that people have: mouse, keys, fingers."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser

TITLE = "Lantern Evening at the Ossel Ferry"


def open_curves(page: Page) -> None:
    """X-ray fluorescence of the first two points, over each other."""
    page.goto("/objects/")
    page.get_by_role("link", name=TITLE).click()
    page.get_by_role("link", name="Laboratory", exact=True).click()
    page.get_by_role("link", name="Curves over each other").click()
    page.get_by_role("radio", name="X-ray fluorescence").check()
    page.get_by_role("button", name="Draw").click()
    for point in ("P01", "P02"):
        page.get_by_role("checkbox", name=point).first.check()
    page.get_by_role("button", name="Draw").click()
    expect(page.get_by_role("link", name="P02 on the surface")).to_be_visible()


def span(page: Page) -> tuple[float, float]:
    """From where to where the curve is shown, as its caption tells after each look."""
    told = page.locator("[data-spectrum-span]")
    expect(told).to_have_text(re.compile(r"^[\d.]+ to [\d.]+ keV$"))
    low, high = told.inner_text().removesuffix(" keV").split(" to ")
    return float(low), float(high)


def test_keys_look_closer_along_and_at_the_whole(sign_in: SignIn) -> None:
    page = sign_in("scientist")
    open_curves(page)
    page.locator(".spectrum-plot").focus()
    page.keyboard.press("+")
    closer = span(page)
    page.keyboard.press("ArrowRight")
    right = span(page)
    assert right[0] > closer[0]
    assert right[1] - right[0] == pytest.approx(closer[1] - closer[0], abs=0.1)
    page.keyboard.press("0")
    whole = span(page)
    assert whole[0] < closer[0]
    assert whole[1] > closer[1]
    page.get_by_role("button", name="Set apart").click()
    expect(page.get_by_role("button", name="Set apart")).to_have_attribute("aria-pressed", "true")


def test_a_mouse_drags_across_what_to_look_at_and_double_clicks_for_the_whole(
    sign_in: SignIn,
) -> None:
    page = sign_in("scientist")
    open_curves(page)
    over = page.locator(".u-over")
    over.scroll_into_view_if_needed()
    box = over.bounding_box()
    assert box
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.25, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.5, middle, steps=5)
    page.mouse.up()
    low, high = span(page)
    assert low == pytest.approx(10, abs=1)  # of forty
    assert high == pytest.approx(20, abs=1)
    over.dblclick()
    expect(page.locator("[data-spectrum-span]")).to_contain_text("to 40.")


def test_two_fingers_stretch_a_curve_and_one_moves_it(sign_in: SignIn) -> None:
    page = sign_in("scientist", width=390, height=844)
    open_curves(page)
    over = page.locator(".u-over")
    over.scroll_into_view_if_needed()
    box = over.bounding_box()
    assert box
    fingers = page.context.new_cdp_session(page)

    def touch(kind: str, *places: float) -> None:
        points = [
            {"x": box["x"] + box["width"] * at, "y": box["y"] + box["height"] / 2, "id": n}
            for n, at in enumerate(places)
        ]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", 0.4, 0.6)
    touch("touchMove", 0.3, 0.7)
    touch("touchMove", 0.2, 0.8)
    touch("touchEnd")
    low, high = span(page)
    assert high - low < 20  # of forty: the fingers went three times as far apart
    assert 10 < (low + high) / 2 < 30
    touch("touchStart", 0.3)
    touch("touchMove", 0.5)
    touch("touchMove", 0.7)
    touch("touchEnd")
    moved = span(page)
    assert moved[0] < low  # what lay under the finger has gone to the right with it
    assert moved[1] - moved[0] == pytest.approx(high - low, abs=0.1)
