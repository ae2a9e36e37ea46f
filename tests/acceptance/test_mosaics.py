"""A folder of frames becomes one image: chosen, joined, read with what is left, looked at."""

from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.acceptance.actions import A_TASK_TAKES_MS, choose, save
from tests.acceptance.conftest import Installation, SignIn
from tests.acceptance.test_every_page import inaccessible
from tests.unit.imaging.mosaic.cutting import Setup, cut, picture

pytestmark = pytest.mark.browser

FILMS = Setup(
    rows=2, columns=3, width=240, height=200, k1=0, k2=0, tilt=(0, 0), vignetting=0, noise=1,
)  # fmt: skip


def lay(installation: Installation) -> str:
    """Six films in a folder of the ingest folder, named for this run alone, the last unexposed."""
    seed = int.from_bytes(np.random.default_rng().bytes(4), "big")
    name = f"films {seed}"
    folder = Path(installation.environment["INGEST_ROOT"]) / name
    folder.mkdir(parents=True)
    made = cut(FILMS, picture("xray"))
    chance = np.random.default_rng(seed)
    made.frames[5] = chance.integers(20, 24, made.frames[5].shape).astype(np.uint8)
    made.save(folder)
    return name


def open_examination(page: Page) -> None:
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Images").click()
    page.get_by_role("link", name="X-radiography").first.click()


def test_a_folder_of_frames_becomes_an_image_with_its_report(
    sign_in: SignIn, installation: Installation
) -> None:
    name = lay(installation)
    page = sign_in("conservator")
    open_examination(page)
    page.get_by_role("link", name="Join frames to a mosaic").click()
    page.get_by_label("Title").fill(name)
    choose(page.get_by_label("Frames from the ingest folder"), name)
    page.get_by_label("Rows").fill("2")
    page.get_by_label("Columns").fill("2")
    page.get_by_label("Overlap side by side").fill("30")
    page.get_by_label("Overlap one below the other").fill("30")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#id_rows_error")).to_contain_text("6 lie in the folder.")
    page.get_by_label("Columns").fill("3")
    save(page)

    work = page.get_by_role("region", name="The work")
    expect(work).to_contain_text("6 files wait in the ingest folder")
    page.get_by_role("button", name="Join the frames").click()
    expect(work.get_by_role("progressbar").first).to_be_visible()
    assert list(inaccessible(page)) == []
    left = page.get_by_role("heading", name="What is left in the overlaps")
    expect(left).to_be_visible(timeout=A_TASK_TAKES_MS)

    # The map tells each overlap by a figure; the film that was not exposed is hatched and named.
    chart = page.get_by_role("img", name="6 frames as they lie")
    expect(chart).to_be_visible()
    assert chart.locator("polygon.placed").count() == 5
    assert chart.locator("polygon.unplaced title").text_content() == "frame-005.tif, not placed"
    nowhere = page.get_by_role("region", name="Frames without a place")
    expect(nowhere).to_contain_text("It is blank")
    nowhere.locator("img").first.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('.unplaced img').naturalWidth > 0")
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save the report as JSON").click()
    assert saved.value.suggested_filename.startswith("mosaic-")
    assert list(inaccessible(page)) == []

    page.locator("figcaption").get_by_role("link", name=name).click()
    expect(page.get_by_role("heading", level=1)).to_have_text(name)
    expect(page.get_by_text("Mosaic of 5 frames of 6 given.")).to_be_visible()
    ready = page.locator("#tiles-progress .success, #tiles-progress.success").or_(
        page.locator("#viewer")
    )
    expect(ready.first).to_be_visible(timeout=A_TASK_TAKES_MS)
    page.reload()
    expect(page.locator("#viewer[data-ready]")).to_be_visible()
