"""All steps of a mosaic one after the other, as the task queue takes them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from records.imaging import mosaic


@dataclass(frozen=True)
class Joined:
    """What came of each step."""

    pairs: list[mosaic.Pair]
    ties: list[mosaic.Ties]
    adjusted: mosaic.Adjusted
    evening: mosaic.Evening
    fields: mosaic.Fields

    @property
    def placed(self) -> list[int]:
        return [k for k, place in enumerate(self.adjusted.places) if place]

    @property
    def middles(self) -> NDArray[np.float64]:
        return np.array([[p.x, p.y] for p in self.adjusted.places if p])


def join_frames(
    frames: Sequence[NDArray[np.uint8]],
    sizes: Sequence[tuple[int, int]],
    nominal: NDArray[np.float64],
    slack_px: float,
    *,
    dark: NDArray[np.uint8] | None = None,
    flat: NDArray[np.uint8] | None = None,
    freedom: str = "turn",
    estimate_lens: bool = False,
    falloff: bool = False,
) -> Joined:
    """Check, search, measure, adjust and even frames, in memory or read when they are needed.

    `sizes`: (width, height) of each.
    """
    fields = mosaic.fields(*([] if f is None else [_bands(f)] for f in (dark, flat)))

    @lru_cache(maxsize=4)
    def corrected(index: int) -> NDArray[np.float32]:
        return fields.correct(_bands(frames[index]))

    excluded = {}
    for index in range(len(frames)):
        if reason := mosaic.look(corrected(index), frames[index]).blank:
            excluded[index] = reason
    looked_at = mosaic.pairs(nominal, np.array(sizes, float))
    offsets = [
        mosaic.find_offset(
            mosaic.grey(corrected(p.first)),
            mosaic.grey(corrected(p.second)),
            p.dx,
            p.dy,
            slack_px,
        )
        for p in looked_at
    ]
    plan = mosaic.plan(nominal, np.array(sizes, float), looked_at, offsets, excluded)
    pairs = mosaic.pairs(plan.middles, np.array(sizes, float))
    ties = [mosaic.find_ties(corrected(p.first), corrected(p.second), p.dx, p.dy) for p in pairs]
    adjusted = mosaic.adjust(sizes, plan, pairs, ties, freedom=freedom, estimate_lens=estimate_lens)
    evening = mosaic.even(sizes, pairs, ties, falloff=falloff)
    return Joined(pairs, ties, adjusted, evening, fields)


def blended(
    joined: Joined, paths: Sequence[Path], sizes: Sequence[tuple[int, int]], bands: int = 1
) -> tuple[mosaic.Canvas, NDArray[np.float32]]:
    """The whole mosaic in memory, and its canvas."""
    mappings = [joined.adjusted.mapping(k, *sizes[k]) for k in joined.placed]
    laid = [mosaic.Laid(k, paths[k], m) for k, m in zip(joined.placed, mappings, strict=True)]
    extent = mosaic.canvas(mappings)
    whole = np.zeros((extent.height_px, extent.width_px, bands), np.float32)
    for block in extent.blocks():
        x, y, width, height = block
        near = [laid[k] for k in mosaic.reaching(mappings, extent, block)]
        whole[y : y + height, x : x + width], _ = mosaic.blend(
            near, extent, block, joined.fields, joined.evening, bands
        )
    return extent, whole


def _bands(values: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return values if values.ndim == 3 else values[..., None]
