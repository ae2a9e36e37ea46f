"""Redrawing an image square to a face against bare libvips doing the same: time and memory.

Bare libvips is handed the place of every pixel in a file, or the matrix of an affine change, and so
has nothing to work out. Both take turns in processes of their own; the processor's time counts, of
which other work on the machine takes nothing, and the best of each.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest
import pyvips

WIDTH, HEIGHT = 5000, 4000
TURNS = 2
MOST = 2.0
PRELUDE = """
import json, resource, sys
from pathlib import Path
import numpy as np
import pyvips
from records.imaging.fits import Chart, apply, fit
from records.imaging.placement import outline_px
from records.imaging.rectifying import Frame, _between, _grid, frame_of, rectify
source, folder, index = map(Path, sys.argv[1:])
W, H = {width}, {height}
ASLANT = np.array([[0.3, 0.02, 10], [0.01, -0.3, 1250], [4e-6, -3e-6, 1.0]])
PX = np.array([(c, r) for c in np.linspace(0, W, 6) for r in np.linspace(0, H, 5)])
AWAY = (PX - (W / 2, H / 2)) / W
BENT = apply(ASLANT, PX + 90 * AWAY * np.sum(AWAY**2, axis=1)[:, None])
CHART = fit(PX, BENT, {method!r})
FRAME = frame_of(CHART, CHART.to_face(outline_px(W, H, 16)), (1500, 1200), (W, H))
def memory(name):
    line = next(line for line in open("/proc/self/status") if line.startswith(name))
    return int(line.split()[1])
def seconds():
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime
before, began = memory("VmRSS"), seconds()
{work}
print(json.dumps((seconds() - began, memory("VmHWM") - before)))
"""
OURS = "rectify(source, CHART, FRAME, folder)"
LAY = """
cell, knots = _grid(CHART, FRAME)
_between(knots, cell, FRAME).write_to_file(str(index), tile=True)
"""
BARE = """
image = pyvips.Image.new_from_file(str(source))
where = pyvips.Image.new_from_file(str(index))
image.mapim(where, interpolate=pyvips.Interpolate.new("bicubic"), background=255,
            extend="background").dzsave(
    str(folder), layout="iiif3", tile_size=512, suffix=".jpg[Q=88,keep=none]")
"""
AFFINE = """
(a, b, c), (d, e, f) = (np.linalg.inv(FRAME.matrix) @ CHART.matrix)[:2]
image = pyvips.Image.new_from_file(str(source))
image.affine([a, b, d, e], odx=c, ody=f, oarea=[0, 0, FRAME.width_px, FRAME.height_px],
             interpolate=pyvips.Interpolate.new("bicubic"), background=255,
             extend="background").dzsave(
    str(folder), layout="iiif3", tile_size=512, suffix=".jpg[Q=88,keep=none]")
"""


def run(work: str, method: str, *paths: Path) -> tuple[float, float]:
    """Seconds of the processor, and the most memory in kB beyond interpreter and imports."""
    script = PRELUDE.format(work=work, method=method, width=WIDTH, height=HEIGHT)
    command = [sys.executable, "-c", script, *map(str, paths)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    seconds, kilobytes = json.loads(done.stdout.splitlines()[-1])
    return seconds, kilobytes


@pytest.mark.parametrize(
    ("method", "bare"), [("affine", AFFINE), ("projective", BARE), ("spline", BARE)]
)
def test_redrawing_takes_at_most_twice_what_bare_libvips_takes(
    tmp_path: Path, method: str, bare: str
) -> None:
    source, index = tmp_path / "old.tif", tmp_path / "index.tif"
    weave = (pyvips.Image.sines(WIDTH, HEIGHT, hfreq=500, vfreq=300) + 1) * 110
    weave.bandjoin([weave * 0.8, weave * 0.6]).cast("uchar").copy(
        interpretation="srgb"
    ).write_to_file(str(source), tile=True)
    if bare is BARE:
        run(LAY, method, source, tmp_path / "unused", index)
    ours, theirs = [], []
    for turn in range(TURNS):
        ours.append(run(OURS, method, source, tmp_path / f"ours-{turn}", index))
        theirs.append(run(bare, method, source, tmp_path / f"bare-{turn}", index))
    seconds, kilobytes = (min(told) for told in zip(*ours, strict=True))
    bare_seconds, bare_kilobytes = (min(told) for told in zip(*theirs, strict=True))
    print(
        f"{method}: {seconds:.2f} s for {bare_seconds:.2f} s, "
        f"{kilobytes / 1024:.0f} MB for {bare_kilobytes / 1024:.0f} MB"
    )
    assert seconds <= MOST * bare_seconds
    assert kilobytes <= MOST * bare_kilobytes
