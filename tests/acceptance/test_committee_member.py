"""A loan committee member: from signing in to a dossier whose file is shown to be unaltered."""

import hashlib
from pathlib import Path

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from tests.acceptance.actions import A_TASK_TAKES_MS
from tests.acceptance.conftest import SignIn

pytestmark = pytest.mark.browser

SECTIONS = (
    "Identity and construction",
    "Condition",
    "Surface maps",
    "History",
    "Treatments",
    "Occurrences",
    "Laboratory",
    "Images",
    "Sources",
    "Open questions",
    "Cautions",
)


def test_a_committee_member_asks_for_a_dossier_and_verifies_the_file(
    sign_in: SignIn, tmp_path: Path
) -> None:
    page = sign_in("committee")
    page.get_by_role("link", name="Objects").first.click()
    page.get_by_role("link", name="Lantern Evening at the Ossel Ferry").click()
    page.get_by_role("link", name="Dossiers", exact=True).click()
    page.get_by_label("Title").fill("Loan to the estuary exhibition")
    page.get_by_label("The decision it is for").fill("May the painting travel next spring?")
    page.get_by_role("button", name="Ask for the dossier").click()

    download = page.get_by_role("link", name="Download the PDF")
    expect(download).to_be_visible(timeout=A_TASK_TAKES_MS)
    with page.expect_download() as arriving:
        download.click()
    kept = tmp_path / "dossier.pdf"
    arriving.value.save_as(kept)
    sha256 = hashlib.sha256(kept.read_bytes()).hexdigest()
    expect(page.locator("dl")).to_contain_text(sha256)
    text = " ".join(sheet.extract_text() for sheet in PdfReader(kept).pages)
    assert "May the painting travel next spring?" in " ".join(text.split())
    assert [section for section in SECTIONS if section not in text] == []

    page.get_by_label("The PDF").set_input_files(kept)
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_role("status").filter(has_text=sha256)).to_contain_text("the same")

    altered = tmp_path / "altered.pdf"
    altered.write_bytes(kept.read_bytes().replace(b"/Creator", b"/Creatos", 1) + b"%")
    page.get_by_label("The PDF").set_input_files(altered)
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_role("status").filter(has_text=sha256)).to_contain_text("differs")


def test_a_committee_member_sees_objects_and_dossiers_only(sign_in: SignIn) -> None:
    page = sign_in("committee")
    expect(page.get_by_role("navigation", name="Main").get_by_role("link")).to_have_text(
        ["Desk", "Objects"]
    )
    page.goto("/objects/")
    page.get_by_role("link", name="Lantern Evening at the Ossel Ferry").click()
    here = page.url
    for room in ("surface", "history", "treatments", "laboratory", "images", "papers"):
        answer = page.goto(f"{here}{room}/")
        assert answer is not None
        assert answer.status == 403, room
        expect(page.get_by_role("main")).to_contain_text("Committee members see objects")
