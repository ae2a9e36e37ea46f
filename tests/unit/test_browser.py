"""Which Chromium is driven on which machine."""

from pathlib import Path

import pytest

from deploy.pictures.browser import chromium

DEBIAN = "echo 'Chromium 140.0.7339.127 built on Debian GNU/Linux 12 (bookworm)'"
SNAP = "echo 'Chromium 140.0.7339.127 snap'"
STUB = "echo 'Command requires the chromium snap to be installed.' >&2; exit 1"


@pytest.mark.parametrize(("does", "driven"), [(DEBIAN, True), (SNAP, False), (STUB, False)])
def test_a_snap_or_its_stub_is_left_for_playwrights_own(
    does: str, driven: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = tmp_path / "chromium"
    program.write_text(f"#!/bin/sh\n{does}\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert chromium() == (str(program) if driven else None)


def test_a_machine_without_any_takes_playwrights_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert chromium() is None
