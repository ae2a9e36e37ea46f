"""The check of mosaics at the size of the demonstration's pictures; not a part of the tests, which
do the same with small ones:

    python -m tests.unit.imaging.mosaic.full_size [CASE …]

Cuts the painting's pictures, 6480 px wide, into frames with planted faults, joins them in a process
of its own, and prints what was found beside the aims. Ends with 1 when one is missed. The first
time the pictures are painted, which takes some minutes.
"""

import json
import pickle
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyvips
from numpy.typing import NDArray

from fixtures.painting import make
from records.imaging import mosaic
from tests.unit.imaging.mosaic.cutting import Cut, Setup, as_exposed, cut, laid_on
from tests.unit.imaging.mosaic.joining import Joined, join_frames
from tests.unit.imaging.mosaic.seams import steps_at_edges

WIDE_PX = 6480
CAMERA = Setup(rows=14, columns=18, width=500, height=450, jitter_px=8)
FILMS = Setup(
    rows=7, columns=29, width=292, height=828, overlap=(0.25, 0.25), jitter_px=8,
    turn=0.003, size=0.0005, k1=0, k2=0, tilt=(0, 0), vignetting=0,
)  # fmt: skip
CASES = {
    "camera-visible": (CAMERA, "visible"),
    "camera-xray": (CAMERA, "xray"),
    "films-xray": (FILMS, "xray"),
}
SLACK_PX = 60.0
BLANK, FOREIGN, TWICE = 37, 90, 141
MOST_RMS_PX, MOST_SEAM = 0.5, 1.0
HEADINGS = (
    "case", "frames", "not placed", "RMS (px)", "largest (px)", "corners (px)", "seam (levels)",
    "time (s)", "peak (MB)", "mosaic (MB)",
)  # fmt: skip


@dataclass(frozen=True)
class OnDisk(Sequence[Any]):
    """Frames that are read when they are needed."""

    paths: Sequence[Path]

    def __len__(self) -> int:
        return len(self.paths)

    def __getitem__(self, index: Any) -> Any:
        return mosaic.read(self.paths[index])


def take(name: str, folder: Path) -> Cut:
    """Cut the frames of a case and plant three that cannot be placed."""
    setup, picture = CASES[name]
    made = cut(setup, as_exposed(pyvips.Image.new_from_file(str(make(WIDE_PX).path(picture)))))
    rng = np.random.default_rng(8)
    made.frames[BLANK] = np.clip(made.flat + rng.normal(0, 2, made.flat.shape), 0, 255).astype(
        np.uint8
    )
    made.frames[FOREIGN] = np.ascontiguousarray(made.frames[12][::-1, ::-1])
    made.frames[TWICE] = made.frames[5].copy()
    made.save(folder)
    np.save(folder / "dark.npy", made.dark)
    np.save(folder / "flat.npy", made.flat)
    return made


def join(name: str, folder: Path) -> None:
    """Join the frames that lie in a folder; leaves the mosaic and what was worked out there."""
    setup, _ = CASES[name]
    began = time.monotonic()
    paths = sorted(folder.glob("frame-*.tif"))
    sizes = [(setup.width, setup.height)] * len(paths)
    camera = name.startswith("camera")
    joined = join_frames(
        OnDisk(paths),
        sizes,
        mosaic.grid(setup.rows, setup.columns, setup.step),
        SLACK_PX,
        dark=np.load(folder / "dark.npy"),
        flat=np.load(folder / "flat.npy") if camera else None,
        estimate_lens=camera,
    )
    mappings = [joined.adjusted.mapping(k, *sizes[k]) for k in joined.placed]
    laid = [mosaic.Laid(k, paths[k], m) for k, m in zip(joined.placed, mappings, strict=True)]
    extent = mosaic.canvas(mappings)
    bands = mosaic.header(paths[0]).bands
    blocks = []
    for number, block in enumerate(extent.blocks()):
        near = [laid[k] for k in mosaic.reaching(mappings, extent, block)]
        values, _ = mosaic.blend(near, extent, block, joined.fields, joined.evening, bands)
        blocks.append(folder / f"block-{number:03}.tif")
        mosaic.save_block(mosaic.in_format(values, "uchar"), blocks[-1])
    mosaic.join(blocks, extent, folder / "mosaic.tif")
    took = time.monotonic() - began
    peak = peak_bytes()
    (folder / "joined.pickle").write_bytes(pickle.dumps((joined, extent)))
    (folder / "cost.json").write_text(json.dumps({"took_s": took, "peak_bytes": peak}))


def peak_bytes() -> int:
    """The most memory that this process has held. (What getrusage tells is inherited from the
    process that began this one.)"""
    told = Path("/proc/self/status").read_text()
    return next(int(s.split()[1]) * 1024 for s in told.splitlines() if s.startswith("VmHWM"))


def judged(name: str, made: Cut, folder: Path) -> tuple[list[str], bool]:
    """The figures of a case as cells, and whether it keeps the aims."""
    joined: Joined
    joined, extent = pickle.loads((folder / "joined.pickle").read_bytes())
    cost = json.loads((folder / "cost.json").read_text())
    fit = laid_on(joined.middles, np.array(made.middles)[joined.placed])
    last = [[made.setup.width - 1, made.setup.height - 1]]
    corners = np.concatenate(
        [
            joined.adjusted.mapping(k, made.setup.width, made.setup.height).to_mosaic(last)
            for k in joined.placed
        ]
    )
    misses = fit.to_picture(corners) - np.array(made.corners)[joined.placed]
    corners_px = float(np.sqrt(np.mean((misses**2).sum(axis=1))))
    whole: NDArray[np.float32] = mosaic.read(folder / "mosaic.tif").astype(np.float32)
    seam = float(np.nanmedian(steps_at_edges(made, joined, fit, extent, whole)))
    cells = [
        name, str(len(made.frames)), ", ".join(map(str, sorted(joined.adjusted.why))),
        f"{fit.rms_px:.3f}", f"{fit.misses_px.max():.3f}", f"{corners_px:.3f}", f"{seam:.2f}",
        f"{cost['took_s']:.0f}", f"{cost['peak_bytes'] / 1e6:.0f}", f"{whole.size / 1e6:.0f}",
    ]  # fmt: skip
    good = fit.rms_px < MOST_RMS_PX and seam < MOST_SEAM
    return cells, good and set(joined.adjusted.why) == {BLANK, FOREIGN, TWICE}


def rows(names: Sequence[str]) -> Iterator[tuple[list[str], bool]]:
    for name in names:
        with tempfile.TemporaryDirectory() as desk:
            made = take(name, Path(desk))
            subprocess.run([sys.executable, "-m", __spec__.name, "--join", name, desk], check=True)
            yield judged(name, made, Path(desk))


def main(arguments: Sequence[str]) -> int:
    if arguments[:1] == ["--join"]:
        join(arguments[1], Path(arguments[2]))
        return 0
    good = True
    print("\t".join(HEADINGS))
    for cells, keeps in rows(arguments or list(CASES)):
        print("\t".join(cells), "" if keeps else "\tmisses an aim", flush=True)
        good &= keeps
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
