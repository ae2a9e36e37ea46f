"""Which Chromium is driven, by the browser tests and for the pictures alike."""

import shutil
import subprocess

ARGUMENTS = [
    "--no-sandbox",  # it may be root who runs this, which Chromium's sandbox refuses
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def chromium() -> str | None:
    """The machine's Chromium; None, for Playwright's own, where there is none or only a snap.

    Ubuntu's package stands for a snap, which keeps to its own folders and cannot be driven.
    """
    found = shutil.which("chromium")
    if found is None:
        return None
    told = subprocess.run([found, "--version"], capture_output=True, text=True, check=False)
    real = told.stdout.startswith("Chromium") and "snap" not in told.stdout
    return found if real else None
