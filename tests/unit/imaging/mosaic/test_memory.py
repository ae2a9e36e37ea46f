"""Writing a mosaic takes memory for a block and a part of a frame, however large the mosaic is."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pyvips

SIDE, ACROSS = 1504, 5

PROGRAM = """
import resource, sys
from pathlib import Path
import numpy as np
from records.imaging import mosaic

frame, folder = map(Path, sys.argv[1:3])
side, across = map(int, sys.argv[3:5])
step = side * 0.9
mappings = [
    mosaic.Mapping(side, side, mosaic.Camera(), mosaic.Place(c * step, r * step, 1.0, 0.001))
    for r in range(across) for c in range(across)
]
extent = mosaic.canvas(mappings)
n = len(mappings)
evening = mosaic.Evening(np.ones((n, 1)), np.zeros((n, 1)), np.zeros(1), np.zeros(3), [])
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
paths = []
for number, block in enumerate(extent.blocks()):
    laid = [mosaic.Laid(k, frame, mappings[k]) for k in mosaic.reaching(mappings, extent, block)]
    values, _ = mosaic.blend(laid, extent, block, mosaic.Fields(), evening, 1)
    paths.append(folder / f"{number}.tif")
    mosaic.save_block(mosaic.in_format(values, "ushort"), paths[-1])
mosaic.join(paths, extent, folder / "whole.tif")
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(extent.width_px * extent.height_px * 2, (after - before) * 1024)
"""


def test_it_works(tmp_path: Path) -> None:
    """25 frames of 2 megapixels, and a mosaic of 95 MB: never is as much held."""
    rng = np.random.default_rng(2)
    coarse = rng.integers(2000, 60000, (SIDE // 8, SIDE // 8), np.uint16)
    frame = tmp_path / "frame.tif"
    pyvips.Image.new_from_array(coarse).resize(8, kernel="linear").cast("ushort").tiffsave(
        str(frame), tile=True
    )
    told = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(frame), str(tmp_path), str(SIDE), str(ACROSS)],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).resolve().parents[4],
        env={"PATH": "/usr/bin:/bin", "VIPS_CONCURRENCY": "2"},
    ).stdout.split()
    size, held = (int(part) for part in told)
    assert size > 90e6
    assert held < size
    whole = pyvips.Image.new_from_file(str(tmp_path / "whole.tif"))
    assert whole.width * whole.height * 2 == size
    assert (whole.format, whole.get("n-pages") > 3) == ("ushort", True)
