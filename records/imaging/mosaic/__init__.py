"""Mosaics: many overlapping frames become one image. Pure computation, no Django.

The steps, each a small task of its own: frames are checked and corrected (`frames`), laid as told
(`layout`), their overlaps searched (`offsets`) and measured (`ties`); all are adjusted together
(`adjustment`, `camera`), their exposure evened (`exposure`), the mosaic written block by block
(`blending`). Pixels are array indices: (column, row), the middle of the first pixel at (0, 0).
"""

from records.imaging.mosaic.adjustment import Adjusted, Overlap, Plan, adjust, plan
from records.imaging.mosaic.blending import (
    BLOCK_PX,
    Canvas,
    Laid,
    blend,
    canvas,
    in_format,
    join,
    profile_of,
    reaching,
    save_block,
)
from records.imaging.mosaic.camera import Camera, Mapping, Place
from records.imaging.mosaic.exposure import Evening, even
from records.imaging.mosaic.frames import (
    Fields,
    FrameError,
    Header,
    Look,
    fields,
    grey,
    header,
    look,
    read,
    strangers,
)
from records.imaging.mosaic.layout import Pair, expected, grid, pairs
from records.imaging.mosaic.offsets import Offset, find_offset
from records.imaging.mosaic.ties import Ties, find_ties

__all__ = [
    "BLOCK_PX",
    "Adjusted",
    "Camera",
    "Canvas",
    "Evening",
    "Fields",
    "FrameError",
    "Header",
    "Laid",
    "Look",
    "Mapping",
    "Offset",
    "Overlap",
    "Pair",
    "Place",
    "Plan",
    "Ties",
    "adjust",
    "blend",
    "canvas",
    "even",
    "expected",
    "fields",
    "find_offset",
    "find_ties",
    "grey",
    "grid",
    "header",
    "in_format",
    "join",
    "look",
    "pairs",
    "plan",
    "profile_of",
    "reaching",
    "read",
    "save_block",
    "strangers",
]
