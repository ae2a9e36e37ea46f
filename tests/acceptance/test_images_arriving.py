"""Bringing image files in over a line that breaks, and looking at what came."""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvips
from playwright.sync_api import Page, Response, Route, expect

from tests.acceptance.actions import A_TASK_TAKES_MS
from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser


def plate(path: Path, seed: int) -> Path:
    """A 16-bit plate of waves and grain, a few megabytes."""
    chance = np.random.default_rng(seed)
    y, x = np.mgrid[0:1700, 0:2300]
    waves = 1500 + 800 * np.sin(x / 90) * np.cos(y / 70)
    values = (waves + chance.normal(0, 60, waves.shape)).astype(np.uint16)
    pyvips.Image.new_from_array(values).tiffsave(str(path))
    return path


def open_adding(page: Page) -> None:
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening").first.click()
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name="Images").click()
    page.get_by_role("link", name="Add images").click()


def send(page: Page, *files: Path) -> None:
    page.get_by_label("Files", exact=True).set_input_files([str(file) for file in files])
    page.get_by_label("What they are").select_option("historical")
    page.get_by_role("button", name="Keep the files").click()


def test_files_arrive_over_a_broken_line_and_are_seen_at_any_size(
    sign_in: SignIn, tmp_path: Path
) -> None:
    page = sign_in("conservator")
    # Numbers of this run alone: the installation may be that of a run before.
    seed = int.from_bytes(np.random.default_rng().bytes(4), "big")
    first = plate(tmp_path / f"plate {seed}.tif", seed)
    second = plate(tmp_path / f"plate {seed} b.tif", seed + 1)
    open_adding(page)
    broken: list[Any] = []
    sent: list[str] = []

    def unreliable(route: Route) -> None:
        request = route.request
        if request.method == "PATCH":
            sent.append(request.headers["upload-offset"])
            if len(broken) < 2:
                broken.append(request.url)
                route.abort("connectionreset")
                return
        route.continue_()

    page.route(re.compile(r"/arrivals/[0-9a-f-]{36}$"), unreliable)
    send(page, first, second)
    lines = page.locator("#arriving-list > li")
    expect(lines).to_have_count(2)
    expect(page.locator("#arriving-list progress").first).to_be_visible()
    expect(page.locator("#arriving-list .success")).to_have_count(2, timeout=A_TASK_TAKES_MS)
    assert len(broken) == 2
    assert len(sent) >= 4

    # The same file again is told, with the way to the one that is there.
    send(page, first)
    there = lines.nth(2)
    expect(there).to_contain_text("is there already, as", timeout=A_TASK_TAKES_MS)
    there.get_by_role("link", name=first.stem).click()
    expect(page.get_by_role("heading", level=1)).to_have_text(first.stem)
    ready = page.locator("#tiles-progress .success, #tiles-progress.success").or_(
        page.locator("#viewer")
    )
    expect(ready.first).to_be_visible(timeout=A_TASK_TAKES_MS)
    page.reload()
    look(page)


def look(page: Page) -> None:
    """OpenLayers reads `info.json` and asks only for tiles that are there."""
    missing: list[str] = []

    def heard(answer: Response) -> None:
        if answer.status >= 400:
            missing.append(answer.url)

    page.on("response", heard)
    viewer = page.locator("#viewer[data-ready]")
    expect(viewer).to_be_visible()
    whole = viewer.screenshot()
    viewer.focus()
    for _ in range(3):
        page.keyboard.press("+")
        page.wait_for_timeout(400)
    page.keyboard.press("ArrowRight")
    page.wait_for_timeout(600)
    assert viewer.screenshot() != whole
    page.keyboard.press("0")
    page.wait_for_timeout(600)
    # A narrower window is seen at once, and kept.
    page.get_by_label("Shown as black", exact=True).fill("1400")
    page.get_by_label("Shown as white", exact=True).fill("1600")
    page.wait_for_timeout(300)
    assert viewer.screenshot() != whole
    page.get_by_role("button", name="Keep this window").click()
    expect(page.get_by_role("status").first).to_contain_text("saved")
    expect(page.get_by_text("1400 as black, 1600 as white")).to_be_visible()
    assert missing == []


def test_a_file_that_is_no_image_is_refused_in_words(sign_in: SignIn, tmp_path: Path) -> None:
    page = sign_in("conservator")
    open_adding(page)
    (tmp_path / "cut.tif").write_bytes(plate(tmp_path / "whole.tif", 3).read_bytes()[:-9000])
    (tmp_path / "drawing.png").write_text("<svg><script>alert(1)</script></svg>")
    send(page, tmp_path / "cut.tif", tmp_path / "drawing.png")
    faults = page.locator("#arriving-list .error")
    expect(faults).to_have_count(2, timeout=A_TASK_TAKES_MS)
    expect(faults.nth(0)).to_contain_text("not copied to its end")
    expect(faults.nth(1)).to_contain_text("may hold script")
