"""A scientist's day: from a raw file to a decided material that dates a trace."""

from uuid import uuid4

import numpy as np
import pytest
import pyvips
from playwright.sync_api import Page, expect

from fixtures.scenario import build
from fixtures.scenario.spectra import raw_data
from tests.acceptance.actions import A_TASK_TAKES_MS, choose, save, wait_for_history
from tests.acceptance.conftest import Installation, SignIn

pytestmark = pytest.mark.browser

TITLE = "Lantern Evening at the Ossel Ferry"
NEW_TRACE = """
from records.changes import change
from records.models import Face, Trace, TraceKind
with change(user=None, why="seen under the microscope"):
    face = Face.objects.get(object__title={title!r}, kind="recto")
    kind = TraceKind.objects.get(code="retouching")
    Trace.objects.create(face=face, kind=kind, number={number!r}, label={label!r})
"""


def rutile_pattern() -> bytes:
    """A diffraction pattern of titanium white in its rutile form, as a table with unclear heads."""
    analyses = {a.key: a for story in build().stories for a in story.analyses}
    _, *rows = raw_data(analyses["xrd-P29"]).split()
    table = ["n,position,reading", *(f"{n},{row}" for n, row in enumerate(rows, 1))]
    return "\n".join(table).encode()


def test_a_raw_file_leads_to_a_material_and_the_material_to_a_date(
    sign_in: SignIn, installation: Installation
) -> None:
    number = uuid4().hex[:6]
    label = f"dot of paint {number}"
    trace = NEW_TRACE.format(title=TITLE, number=f"L{number}", label=label)
    installation.manage("shell", "-v", "0", "-c", trace)
    page = sign_in("scientist")
    page.goto("/objects/")
    page.get_by_role("link", name=TITLE).click()

    # a place where something is measured without taking material; its number is proposed
    page.get_by_role("link", name="Laboratory", exact=True).click()
    page.get_by_role("link", name="New sampling point on Recto").click()
    expect(page.get_by_label("Number on this face")).to_have_value("P42")
    page.get_by_label("Number on this face").fill(f"L{number}")
    page.get_by_label("Place", exact=True).fill("1100, 900")
    save(page)
    point = page.url

    # an analysis with its raw file, evaluated by the worker
    page.get_by_role("link", name="New analysis").click()
    choose(page.get_by_label("Technique"), "X-ray diffraction")
    page.get_by_label("When").fill("2026-11-20")
    page.get_by_label("Raw data file").set_input_files(
        {"name": f"{number}.csv", "mimeType": "text/csv", "buffer": rutile_pattern()}
    )
    save(page)

    # the file is a table of three columns: a person says which are meant
    expect(page.get_by_role("heading", level=1)).to_contain_text("Columns of")
    expect(page.get_by_role("columnheader", name="position")).to_be_visible()
    choose(page.get_by_label("Column of the places"), "2: position")
    expect(page.get_by_label("What the places are")).to_have_value("° 2θ")
    choose(page.get_by_label("Column of the values"), "3: reading")
    page.get_by_label("What the values are").select_option("counts")
    page.get_by_label("Why is it changed?").fill("So the diffractometer saves them.")
    page.get_by_role("button", name="Keep this choice").click()
    expect(page.get_by_role("main")).to_contain_text("places column 2, ° 2θ")
    page.get_by_role("button", name="Evaluate", exact=True).click()
    finding = page.get_by_role("row", name="rutile")
    expect(finding).to_be_visible(timeout=A_TASK_TAKES_MS)
    expect(finding).to_contain_text("sure")
    expect(finding.get_by_role("checkbox")).to_be_checked()
    page.get_by_role("button", name="Take what is ticked as readings").click()
    expect(page.get_by_role("status").first).to_contain_text("readings taken")

    # what the reading proposes, put forward, tied to the trace, accepted under a name
    page.goto(point)
    page.get_by_role("link", name="What the readings propose").click()
    page.get_by_role("button", name="Propose titanium white, rutile").click()
    expect(page.get_by_role("main")).to_contain_text("Proposed")
    page.get_by_role("link", name="Change", exact=True).click()
    page.get_by_role("searchbox").last.fill(label)
    page.get_by_role("radio", name=label).check()
    page.get_by_label("Why is it changed?").fill("The point lies on that dot.")
    save(page)
    page.get_by_role("link", name="Decide", exact=True).click()
    page.get_by_label("Accepted: the material is there").check()
    page.get_by_label("Why do you decide so?").fill("All strong lines of rutile are there.")
    save(page)
    expect(page.get_by_role("main")).to_contain_text("Accepted")

    # the history dates the trace by it
    page.get_by_role("link", name="History", exact=True).click()
    page.get_by_role("link", name="Bounds").click()
    wait_for_history(page)
    page.get_by_label("Kind of trace").select_option(label="Retouching")
    expect(page.get_by_role("row", name=label)).to_contain_text("1 Jan 1945")


def section_photograph() -> bytes:
    """Two layers, pale and blue, in dark resin."""
    pixels = np.full((300, 400, 3), 20, np.uint8)
    pixels[160:220] = (230, 225, 210)
    pixels[100:160] = (60, 90, 150)
    data: bytes = pyvips.Image.new_from_array(pixels, interpretation="srgb").jpegsave_buffer()
    return data


def draw_across(page: Page, height: float) -> None:
    """Draw a boundary from left to right, at a share of the map's height."""
    page.get_by_role("button", name="Draw a boundary").click()
    page.locator("#map").scroll_into_view_if_needed()
    box = page.locator("#map").bounding_box()
    assert box
    y = box["y"] + height * box["height"]
    page.mouse.click(box["x"] + 0.3 * box["width"], y)
    page.mouse.dblclick(box["x"] + 0.7 * box["width"], y)


def test_a_place_set_on_the_map_leads_to_a_measured_section(sign_in: SignIn) -> None:
    number = uuid4().hex[:6]
    page = sign_in("scientist", height=1400)
    page.goto("/objects/")
    page.get_by_role("link", name=TITLE).click()

    # the place, set with the keyboard; a permission is needed and what was typed stays
    page.get_by_role("link", name="Laboratory", exact=True).click()
    page.get_by_role("link", name="New sampling point on Recto").click()
    page.get_by_role("link", name="Set the place on the map instead").click()
    expect(page.locator("#draw-words")).to_have_text("Set the place of the sampling point.")
    page.locator("#map").press("ArrowRight")
    page.locator("#map").press("Space")
    panel = page.get_by_role("complementary", name="Grounds")
    expect(panel.get_by_role("heading", name="New sampling point")).to_be_focused()
    page.keyboard.press("Tab")
    expect(panel.get_by_label("Number on this face")).to_be_focused()
    panel.get_by_label("Number on this face").fill(f"M{number}")
    panel.get_by_label("Material was removed").check()
    panel.get_by_role("button", name="Save").click()
    expect(panel).to_contain_text("Say who allowed material to be removed.")
    panel.get_by_label("Who allowed it").fill("Head of paintings, 2026/12")
    panel.get_by_role("button", name="Save").click()
    panel.get_by_role("link", name="Open the record").click()

    # a sample, and a cross-section of it with its photograph
    page.get_by_role("link", name="New sample", exact=True).click()
    page.get_by_label("Number", exact=True).fill(f"M{number}-S")
    page.get_by_label("How much was taken").fill("0,4 × 0,3 mm")
    save(page)
    page.get_by_role("link", name="New preparation").click()
    page.get_by_label("Kind").select_option(label="Cross-section")
    page.get_by_label("Number", exact=True).fill(f"M{number}-X")
    page.get_by_label("Photograph not in the list").set_input_files(
        {"name": "section.jpg", "mimeType": "image/jpeg", "buffer": section_photograph()}
    )
    save(page)
    ready = page.get_by_role("link", name="Show them")
    expect(ready.or_(page.locator("figure.photograph"))).to_be_visible(timeout=A_TASK_TAKES_MS)

    # its scale, and the boundaries of its layers
    page.get_by_role("link", name="Draw on the photograph").click()
    page.get_by_label("Two points of known distance").fill("50, 280; 150, 280")
    page.get_by_label("Their distance (µm)").fill("50")
    for height in (0.7, 0.5, 0.3, 0.2):
        draw_across(page, height)
    expect(page.locator("#board-words")).to_have_text("4 boundaries, 3 layers; scale set")
    page.get_by_role("button", name="Take the last boundary away").click()
    expect(page.locator("#board-words")).to_have_text("3 boundaries, 2 layers; scale set")
    page.get_by_role("button", name="Save and measure").click()
    described = page.get_by_label("Not recorded yet: what is it?")  # the uppermost first
    described.nth(0).fill("blue paint")
    described.nth(1).fill("white ground")
    page.get_by_role("button", name="Take over what is ticked").click()
    expect(page.get_by_role("status").first).to_have_text("Measures of 2 layers taken over.")
    layers = page.get_by_role("group", name="Layers, the uppermost first")
    expect(layers.get_by_role("row").nth(1)).to_contain_text("blue paint")
    expect(layers.get_by_role("row").nth(2)).to_contain_text("µm")
    expect(page.locator("figure.plate svg")).to_be_visible()


def test_the_sequence_of_six_sections_fits_a_screen_on_a_desk(sign_in: SignIn) -> None:
    page = sign_in("scientist")
    page.goto("/objects/")
    page.get_by_role("link", name=TITLE).click()
    page.get_by_role("link", name="Laboratory", exact=True).click()
    page.get_by_role("link", name="Layers of all sections as one sequence").click()
    frame = page.get_by_role("group", name="Courses of layers")
    expect(frame.get_by_role("columnheader").nth(7)).to_be_visible()  # six between two others
    assert frame.evaluate("frame => frame.scrollWidth <= frame.clientWidth")
