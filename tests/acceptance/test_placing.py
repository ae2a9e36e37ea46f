"""An old photograph is placed by hand and with points that the program proposes."""

import json
import re
from math import hypot

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.acceptance.actions import A_TASK_TAKES_MS, choose
from tests.acceptance.conftest import SignIn
from tests.acceptance.test_every_page import inaccessible

pytestmark = pytest.mark.browser

TITLE = "Postcard negative"


def to_the_page(page: Page) -> None:
    """From the list of objects to placing the photograph anew; a place it has is withdrawn."""
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Images").click()
    page.get_by_role("link", name=TITLE).first.click()
    places = page.get_by_role("region", name="Place on a face")
    if places.get_by_role("link", name="withdraw").count():
        places.get_by_role("link", name="withdraw").first.click()
        page.get_by_label("Why is it withdrawn?").fill("To be placed anew.")
        page.get_by_role("button", name="Withdraw the record").click()
    page.get_by_role("link", name="Place on a face").click()
    for _ in range(A_TASK_TAKES_MS // 1000):
        if not page.get_by_text("The image cannot be shown yet").count():
            break
        page.wait_for_timeout(1000)
        page.reload()
    expect(page.locator("#pane-image canvas").first).to_be_visible()
    page.wait_for_load_state("networkidle")


def press(page: Page, pane: str, x: float, y: float) -> None:
    """Press in a pane at a share of its width and height."""
    box = page.locator(f"#pane-{pane}").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] * x, box["y"] + box["height"] * y)
    page.wait_for_timeout(150)
    page.mouse.click(box["x"] + box["width"] * x, box["y"] + box["height"] * y)
    page.wait_for_timeout(400)  # two quick presses would be one


def test_a_photograph_is_placed_with_accepted_points_and_opens_on_the_surface(
    sign_in: SignIn,
) -> None:
    page = sign_in("conservator", height=1000)
    to_the_page(page)
    choose(page.get_by_label("Points are set on"), "Visible light, recto")
    choose(page.get_by_label("Transformation"), "seen aslant")

    # a point by hand: the lens follows, the words say what is next, the keyboard moves it finely
    press(page, "image", 0.5, 0.5)
    expect(page.locator("#panes-words")).to_contain_text("Point 1: now press it on the face")
    expect(page.locator("#pane-image .lens")).to_be_visible()
    press(page, "face", 0.5, 0.5)
    rows = page.locator(".points-table tbody tr")
    column = page.get_by_label("Pixel from the left, row 1")
    before = float(column.input_value())
    page.locator("#pane-image").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert float(column.input_value()) == pytest.approx(before + 1.1, abs=0.011)
    said = page.locator("#placing-said")
    expect(said).to_contain_text("at least 4 points; there are 1")
    page.keyboard.press("Delete")
    expect(column).to_have_value("")

    # points by the machine are hollow until somebody accepts them
    page.get_by_role("button", name=re.compile("Look (for points|again)")).click()
    every = page.get_by_role("button", name=re.compile(r"Accept all \d+"))
    expect(every).to_be_visible(timeout=A_TASK_TAKES_MS)
    expect(page.locator("#proposal")).to_contain_text("lie alike")
    assert page.locator(".points-table tr[data-found]").count() == 0
    page.get_by_text("The proposed points one by one").click()
    page.get_by_role("button", name="Accept point 1", exact=True).click()
    expect(page.locator(".points-table tr[data-found]")).to_have_count(1)
    every.click()
    expect(said.locator(".fit-off")).to_have_text(re.compile(r"± [\d.]+\s*mm"))
    expect(rows.first.locator("[data-missed]")).to_have_text(re.compile(r"[\d.]+"))
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("status").first).to_contain_text("saved")

    # it is redrawn square to the face, and says how far it may be off
    places = page.get_by_role("region", name="Place on a face")
    expect(places).to_contain_text("each point foretold by the others")
    expect(places).to_contain_text("program, accepted")
    redrawn = places.get_by_role("link", name="Redrawn square to the face")
    expect(redrawn).to_be_visible(timeout=A_TASK_TAKES_MS)
    redrawn.click()
    expect(page.locator("#picture-under option:checked")).to_contain_text(TITLE)
    set_up = json.loads(page.locator("#surface-set-up").text_content() or "")
    (picture,) = [one for one in set_up["pictures"] if TITLE in one["name"]]
    assert "/placements/" in picture["tiles"]
    assert 2 < picture["off"] < 12  # a pixel of the small negative covers 5.4 mm
    left, bottom = picture["matrix"][0][2], picture["edge"][0][1]
    assert hypot(left, bottom) < 400


def test_two_points_exchanged_are_told_and_coordinates_can_be_typed(sign_in: SignIn) -> None:
    page = sign_in("conservator")
    to_the_page(page)
    corners = [(6, 312, 0, 0), (446, 311, 2400, 0), (8.7, 2.7, 2400, 1700), (444, 8, 0, 1700)]
    inner = [(94, 78, 468, 1290), (242, 148, 1290, 908)]
    for number, point in enumerate([*corners, *inner], 1):
        if page.locator(".points-table tbody tr").count() < number:
            page.get_by_role("button", name="Add a row").click()
        for label, value in zip(
            ("Pixel from the left", "Pixel from the top", "x on the face", "y on the face"),
            point,
            strict=True,
        ):
            page.get_by_label(re.compile(rf"{label}.*, row {number}$")).fill(str(value))
    choose(page.get_by_label("Transformation"), "stretched and sheared")
    expect(page.locator("#placing-said")).to_contain_text("Points 3 and 4 look exchanged")
    expect(page.locator(".points-table tr.doubtful")).to_have_count(2)


@pytest.mark.parametrize("width", [1440, 390])
def test_a_shape_follows_its_image_once_a_person_says_so_with_the_keyboard_alone(
    sign_in: SignIn, width: int
) -> None:
    page = sign_in("conservator", width=width)
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Images").click()
    page.get_by_role("link", name="Plate for the jubilee catalogue").first.click()
    page.get_by_role("region", name="Place on a face").get_by_role("link", name="change").click()
    measured = page.get_by_label(re.compile("x on the face.*, row 1$"))
    measured.fill(str(float(measured.input_value()) + 12))
    page.get_by_label("Why is it changed?").fill("The corner was measured again.")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("status").first).to_contain_text("where it lay before")
    page.get_by_role("link", name="Decide on those of the Recto").click()
    assert list(inaccessible(page)) == []
    decision = page.get_by_label("Decision on signature")
    to_the_field(page, decision)
    page.keyboard.press("ArrowDown")
    expect(decision).to_have_value("carry")
    to_the_field(page, page.get_by_label("Why?"))
    page.keyboard.type("Seen over the image, it lies on the letters again.")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("status").first).to_contain_text("carried along: 1")


def to_the_field(page: Page, field: Locator) -> None:
    """Go from field to field until this one is reached."""
    for _ in range(120):
        if field.evaluate("field => field === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError("The keyboard does not reach the field.")
