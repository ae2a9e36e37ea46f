"""An examination of twelve frames, cut from a picture, with dark and flat exposures."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import pyvips
from django.core.files.base import ContentFile
from numpy.typing import NDArray

from records.fixity import sha256_of
from records.models import Examination, Image
from tests import builders as make
from tests.integration.reports.queue import empty_queue
from tests.unit.imaging.mosaic.cutting import Cut, Setup, cut, picture

TWELVE = Setup(rows=3, columns=4, width=220, height=170, noise=1.5)


@dataclass
class Taken:
    """The examination with its images, and the truth."""

    examination: Examination
    frames: list[Image]
    dark: Image
    flat: Image
    cut: Cut


@pytest.fixture
def keep_image(tmp_path: Path) -> Callable[..., Image]:
    """Keep values as an image of an examination, as an upload would."""

    def keep(look: Examination, title: str, values: NDArray[Any]) -> Image:
        path = tmp_path / f"{title}.tif"
        pyvips.Image.new_from_array(values).write_to_file(str(path))
        content = path.read_bytes()
        made: Image = make.photograph(
            look.campaign.object,
            date="",
            examination=look,
            kind="technical",
            title=title,
            file=ContentFile(content, path.name),
            sha256=sha256_of(path),
            byte_size=len(content),
            width_px=values.shape[1],
            height_px=values.shape[0],
        )
        return made

    return keep


@pytest.fixture
def taken(transactional_db: None, keep_image: Callable[..., Image]) -> Taken:
    empty_queue()
    look = make.examination(make.canvas())
    made = cut(TWELVE, picture("visible"))
    frames = [keep_image(look, f"frame {k}", values) for k, values in enumerate(made.frames, 1)]
    return Taken(
        look, frames, keep_image(look, "dark", made.dark), keep_image(look, "flat", made.flat), made
    )
