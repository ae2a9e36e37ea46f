"""Raw files to curves: EMSA/MAS (ISO 22029), JCAMP-DX (IUPAC), pdCIF (IUCr), columns of text.

A file is recognised by how it begins, not by its name. What cannot be read raises `Unreadable`,
which names the line and says what to do. `told` of the curve holds what the file says by its own
names, and under 'beam_energy' (kV) and 'wavelength' (Å) what was understood of it. The bytes that
came in are never changed.
"""

from pathlib import Path

from analyses.spectra.curve import Curve
from analyses.spectra.readers import columns as _columns
from analyses.spectra.readers import emsa, jcampdx, pdcif
from analyses.spectra.readers.columns import IN_SETTINGS, ColumnChoice, Preview
from analyses.spectra.readers.text import ChoiceNeeded, Unreadable, bytes_of, decode

__all__ = [
    "IN_SETTINGS",
    "ChoiceNeeded",
    "ColumnChoice",
    "Preview",
    "Unreadable",
    "preview",
    "read",
]

PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*", b"\x00\x00\x00\x0cjP  ")
PICTURE_NAMES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".jp2")


def read(data: bytes | Path, name: str = "", columns: ColumnChoice | None = None) -> Curve:
    """The curve that a raw file holds; `name` is told with the error, `columns` the choice made.

    Raises `Unreadable`, or `ChoiceNeeded` when a person must say which columns are meant.
    """
    content = bytes_of(data)
    if content.startswith(PICTURES) or name.casefold().endswith(PICTURE_NAMES):
        raise Unreadable(
            "The file is a picture. Pictures are kept among the images; that of a section is added "
            "with its preparation."
        )
    text = decode(content)
    if emsa.recognised(text):
        return emsa.read(text)
    if jcampdx.recognised(text):
        return jcampdx.read(text)
    if pdcif.recognised(text):
        return pdcif.read(text)
    return _columns.read(text, columns)


def preview(
    data: bytes | Path, name: str = "", columns: ColumnChoice | None = None
) -> Preview | None:
    """The first rows of a table for the column chooser; None when its format needs no choice."""
    text = decode(bytes_of(data))
    if any(form.recognised(text) for form in (emsa, jcampdx, pdcif)):
        return None
    return _columns.preview(text, columns)
