"""Files that packages from the registry carry: spectra measured on real objects and standards.

`./deploy/test` lays the wheels that `requirements-spectra.lock` names into `var/open-spectra`. They
are read as archives and never installed, so nothing of them and of what they depend on can be
imported.
"""

import zipfile
from pathlib import Path

import pytest

WHEELS = Path(__file__).parents[4] / "var" / "open-spectra"


def carried(package: str, name: str) -> bytes:
    """The bytes of a file in the wheel of a package ('exspy', 'exspy/data/EDS_SEM_TM002.hspy')."""
    wheels = sorted(WHEELS.glob(f"{package}-*.whl"))
    if not wheels:
        pytest.fail(f"The wheel of {package} is not in var/open-spectra; ./deploy/test brings it.")
    with zipfile.ZipFile(wheels[-1]) as wheel:
        return wheel.read(name)
