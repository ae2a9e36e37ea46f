"""Tiles against bare libvips doing the same to the same file: time and memory, each in a process.

Both take turns; the processor's time counts, of which other work on the machine takes nothing, and
the best of each.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest
import pyvips

WIDTH, HEIGHT = 9000, 7000
TURNS = 2
MOST = 1.3
REPORT = """
import json, resource, sys
source, folder = sys.argv[1:]
{imports}
def memory(name):
    # What getrusage tells would include the process that this one was forked from.
    line = next(line for line in open("/proc/self/status") if line.startswith(name))
    return int(line.split()[1])
def seconds():
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime
before, began = memory("VmRSS"), seconds()
{work}
print(json.dumps((seconds() - began, memory("VmHWM") - before)))
"""
OURS_IMPORTS = """
from pathlib import Path
from records.imaging.pyramid import Window, make_pyramid
"""
BARE = "pyvips.Image.new_from_file(source, access='sequential'){spread}.dzsave(folder, "
BARE += "layout='iiif3', tile_size=512, suffix='.jpg[Q=88,keep=none]')"
SPREAD = ".linear(255 / 3000, -500 * 255 / 3000).cast('uchar').copy(interpretation='b-w')"


def measured(imports: str, work: str, source: Path, folder: Path) -> tuple[float, float]:
    """Seconds of the processor, and the most memory in kB beyond interpreter and imports."""
    script = REPORT.format(imports=imports, work=work)
    command = [sys.executable, "-c", script, str(source), str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    seconds, kilobytes = json.loads(done.stdout.splitlines()[-1])
    return seconds, kilobytes


@pytest.mark.parametrize(
    ("name", "window", "spread"),
    [("colour.tif", "None", ""), ("radiograph.tif", "Window(500, 3500)", SPREAD)],
)
def test_tiles_take_little_more_than_bare_libvips(
    tmp_path: Path, name: str, window: str, spread: str
) -> None:
    source = tmp_path / name
    weave = (pyvips.Image.sines(WIDTH, HEIGHT, hfreq=900, vfreq=700) + 1) / 2
    grain = pyvips.Image.gaussnoise(WIDTH, HEIGHT, mean=0, sigma=0.1)
    if spread:
        shades = ((weave + grain) * 3000 + 500).cast("ushort")
    else:
        one = ((weave + grain) * 255).cast("uchar")
        shades = one.bandjoin([one.rot180(), one]).copy(interpretation="srgb")
    shades.tiffsave(str(source), tile=True)
    work = f"make_pyramid(Path(source), Path(folder), lambda percent: None, {window})"
    ours, bare = [], []
    for turn in range(TURNS):
        folder = tmp_path / f"ours-{turn}"
        ours.append(measured(OURS_IMPORTS, work, source, folder))
        folder = tmp_path / f"bare-{turn}"
        bare.append(measured("import pyvips", BARE.format(spread=spread), source, folder))
    for what, unit, column in (("time", "s", 0), ("memory", "kB", 1)):
        mine = min(turn[column] for turn in ours)
        theirs = min(turn[column] for turn in bare)
        print(f"{name}: {what} {mine:.4g} {unit} against {theirs:.4g} {unit}: {mine / theirs:.2f}")
        assert mine <= MOST * theirs, f"{what}: {mine:.4g} against {theirs:.4g} {unit}"


def test_memory_is_that_of_a_strip_however_high_the_image(tmp_path: Path) -> None:
    """An image of 40,000 × 30,000 pixels needs less than 2 GB.

    All is worked out in strips of its full width: strips of that width, one three times as high as
    the other, need the same.
    """
    imports = OURS_IMPORTS + "from records.imaging.originals import read_through"
    work = "read_through(Path(source)); make_pyramid(Path(source), Path(folder))"
    kilobytes = []
    for height in (1024, 3072):
        source = tmp_path / f"{height}.tif"
        weave = (pyvips.Image.sines(40_000, height, hfreq=900, vfreq=70) * 120 + 120).cast("uchar")
        weave.bandjoin([weave.rot180(), weave]).copy(interpretation="srgb").tiffsave(
            str(source), tile=True
        )
        kilobytes.append(measured(imports, work, source, tmp_path / f"{height}-tiles")[1])
    short, high = kilobytes
    print(f"40,000 px wide: {short / 1024:.0f} MB, three times as high {high / 1024:.0f} MB")
    assert high <= 1.25 * short
    assert high < 1_000_000
