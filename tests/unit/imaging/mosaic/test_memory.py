"""Writing a mosaic takes memory for a block and a part of a frame, however large the mosaic is."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pyvips

BEGINNING = """
import json, resource, sys
from pathlib import Path
import numpy as np
import pyvips
from records.imaging import mosaic

# libvips keeps a hundred megabytes and files that it has done with: they would hide the rest.
pyvips.cache_set_max(0)

def peak_bytes():
    # What getrusage tells is inherited from the process that began this one.
    told = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) * 1024 for line in told if line.startswith("VmHWM"))
"""
BLENDING = """
frame = Path(sys.argv[1])
side, block_px, *sizes = map(int, sys.argv[2:])

def write(across):
    step = side * 0.9
    mappings = [
        mosaic.Mapping(side, side, mosaic.Camera(), mosaic.Place(c * step, r * step, 1.0, 0.001))
        for r in range(across) for c in range(across)
    ]
    extent = mosaic.canvas(mappings)
    n = len(mappings)
    evening = mosaic.Evening(np.ones((n, 1)), np.zeros((n, 1)), np.zeros(1), np.zeros(3), [])
    covered = 0
    for block in extent.blocks(block_px):
        near = mosaic.reaching(mappings, extent, block)
        laid = [mosaic.Laid(k, frame, mappings[k]) for k in near]
        covered += mosaic.blend(laid, extent, block, mosaic.Fields(), evening, 1)[1].sum()
    return {"bytes": int(covered) * 4, "peak_bytes": peak_bytes()}

print(json.dumps([write(across) for across in sizes]))
"""
JOINING = """
folder = Path(sys.argv[1])
block_px, most_open, *sizes = map(int, sys.argv[2:])
resource.setrlimit(resource.RLIMIT_NOFILE, (most_open, most_open))
ramp = np.add.outer(np.arange(block_px), np.arange(block_px)).astype(np.uint16)[..., None]
mosaic.save_block(ramp, folder / "block.tif")

def write(across):
    side = across * block_px
    extent = mosaic.Canvas(0, 0, side, side)
    blocks = [folder / "block.tif"] * across ** 2
    mosaic.join(blocks, extent, folder / f"whole-{across}.tif", block_px=block_px)
    return {"bytes": 2 * side ** 2, "peak_bytes": peak_bytes()}

print(json.dumps([write(across) for across in sizes]))
"""


def run(program: str, *arguments: object) -> list[dict[str, Any]]:
    """What a program of its own tells of mosaics of several sizes."""
    told = subprocess.run(
        [sys.executable, "-c", BEGINNING + program, *map(str, arguments)],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).resolve().parents[4],
        env={"PATH": "/usr/bin:/bin", "VIPS_CONCURRENCY": "2"},
    ).stdout
    found: list[dict[str, Any]] = json.loads(told)
    return found


def test_blending_more_frames_takes_no_more_memory(tmp_path: Path) -> None:
    side = 1000
    rng = np.random.default_rng(2)
    coarse = rng.integers(2000, 60000, (side // 8, side // 8), np.uint16)
    frame = tmp_path / "frame.tif"
    pyvips.Image.new_from_array(coarse).resize(8, kernel="linear").cast("ushort").tiffsave(
        str(frame), tile=True
    )
    few, many = run(BLENDING, frame, side, 384, 2, 5)
    assert many["bytes"] - few["bytes"] > 60e6
    assert many["peak_bytes"] - few["peak_bytes"] < 6e6


def test_joining_more_blocks_takes_a_little_more_memory_and_no_more_open_files(
    tmp_path: Path,
) -> None:
    few, many = run(JOINING, tmp_path, 256, 120, 16, 48)
    grown = many["bytes"] - few["bytes"]
    assert grown > 250e6
    assert many["peak_bytes"] - few["peak_bytes"] < grown / 3
    whole = pyvips.Image.new_from_file(str(tmp_path / "whole-48.tif"))
    assert whole.width * whole.height * 2 == many["bytes"]
    assert (whole.format, whole.get("n-pages") > 3) == ("ushort", True)
