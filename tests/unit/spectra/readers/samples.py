"""Files of each kind for the tests, written here and not by the readers."""

from collections.abc import Sequence
from itertools import pairwise

from analyses.spectra.curve import Array

# The second example in the description of the format: R. F. Egerton, C. E. Fiori, J. A. Hunt,
# M. S. Isaacson, E. J. Kirkland and N. J. Zaluzec, EMSA Bulletin 21 (1991) 35–41 (reference from
# memory; values as the tests of rosettasciio give them).
EMSA_VALUES = [
    65.82, 67.872, 65.626, 68.762, 71.395, 74.996, 78.132, 78.055, 77.861, 84.598, 83.088, 85.372,
    89.786, 93.464, 93.387, 97.452, 109.96, 111.08, 119.64, 128.77, 138.38, 152.35, 176.01, 192.12,
    222.12, 254.22, 281.55, 328.33, 348.92, 375.33, 385.51, 389.54, 378.77, 353.8, 328.91, 290.07,
    246.09, 202.73, 176.47, 137.64, 119.56, 106.4, 92.496, 96.213, 94.664, 101.13, 114.57, 118.82,
    131.68, 145.04, 165.44, 187.51, 207.49, 238.04, 269.71, 301.46, 348.65, 409.36, 475.3, 554.51,
    631.64, 715.19, 793.44, 847.99, 872.97, 862.59, 834.87, 778.49, 688.63, 599.39, 495.39, 403.48,
    312.88, 237.34, 184.14, 129.86, 101.59, 80.107, 58.657, 49.442,
]  # fmt: skip
EMSA = "\n".join(
    [
        "#FORMAT      : EMSA/MAS Spectral Data File",
        "#VERSION     : 1.0",
        "#TITLE       : NIO Windowless Spectra OK NiL",
        "#DATE        : 01-OCT-1991",
        "#TIME        : 12:00",
        "#OWNER       : EMSA/MAS TASK FORCE",
        "#NPOINTS     : 80.",
        "#NCOLUMNS    : 5.",
        "#XUNITS      : eV",
        "#YUNITS      : Intensity",
        "#DATATYPE    : Y",
        "#XPERCHAN    : 10.0",
        "#OFFSET      : 200.0",
        "#SIGNALTYPE  : EDS",
        "#XLABEL      : X-RAY ENERGY",
        "#YLABEL      : X-RAY INTENSITY",
        "#BEAMKV   -kV: 120.0",
        "#LIVETIME  -s: 100.0",
        "#COMMENT     : The next two lines are User Defined Keywords and values",
        "##ALPHA-1     : 3.1415926535",
        "#SPECTRUM    : Spectral Data Starts Here",
        *(
            ", ".join(f"{value:.5g}" for value in EMSA_VALUES[at : at + 5]) + ","
            for at in range(0, 80, 5)
        ),
        "#ENDOFDATA   :",
        "",
    ]
)

PDCIF = """data_overall
_diffrn_radiation_wavelength 1.5406
data_pattern_7
_pd_instr_location 'room 4'
loop_
_pd_meas_2theta_scan
_pd_meas_counts_total
_pd_proc_ls_weight
10.00 120(11) 1
10.02 131(11) 1
# a remark
10.04 144(12) 1
10.06
98(10) 1
"""

TABLE = """Sample: green layer, point 4
Resolution = 4

Wavenumber (cm-1);Absorbance
4000,5;0,120
3998,5;0,131
3996,5;0,144
3994,5;0,098
"""


def jcampdx(
    x: Sequence[float] | Array,
    values: Sequence[int],
    form: str,
    *,
    factor: float = 0.0001,
    units: tuple[str, str] = ("1/CM", "TRANSMITTANCE"),
) -> str:
    """A JCAMP-DX file of equal steps with whole values, in the form AFFN, PAC, SQZ, DIF or DUP."""
    head = [
        "##TITLE= panel, upper edge",
        "##JCAMP-DX= 4.24 $$ written for a test",
        "##DATA TYPE= INFRARED SPECTRUM",
        "##ORIGIN=",
        "##OWNER= public domain",
        "##RESOLUTION= 4",
        f"##XUNITS= {units[0]}",
        f"##YUNITS= {units[1]}",
        "##XFACTOR= 1",
        f"##YFACTOR= {factor}",
        f"##FIRSTX= {x[0]:.6f}",
        f"##LASTX= {x[-1]:.6f}",
        f"##NPOINTS= {len(x)}",
        f"##FIRSTY= {values[0] * factor:.6f}",
        "##XYDATA= (X++(Y..Y))",
    ]
    return "\n".join([*head, *_lines(x, values, form), "##END=", ""])


def _coded(value: int, positive: str, negative: str) -> str:
    digits = str(abs(value))
    return (negative if value < 0 else positive)[int(digits[0])] + digits[1:]


def _squeezed(value: int) -> str:
    return _coded(value, "@ABCDEFGHI", "@abcdefghi")


def _difference(value: int) -> str:
    return _coded(value, "%JKLMNOPQR", "%jklmnopqr")


def _lines(
    x: Sequence[float] | Array, values: Sequence[int], form: str, per_line: int = 12
) -> list[str]:
    out = []
    if form in ("AFFN", "PAC", "SQZ"):
        write = {"AFFN": " {}".format, "PAC": "{:+d}".format, "SQZ": _squeezed}[form]
        for at in range(0, len(x), per_line):
            out.append(f"{x[at]:.4f}" + "".join(map(write, values[at : at + per_line])))
        return out
    for at in range(0, len(x) - 1, per_line):
        run = values[at : at + per_line + 1]
        steps = [b - a for a, b in pairwise(run)]
        words = [_difference(step) for step in steps]
        if form == "DUP":
            words = _without_repeats(words)
        out.append(f"{x[at]:.4f}{_squeezed(run[0])}{''.join(words)}")
    return [*out, f"{x[-1]:.4f}{_squeezed(values[-1])}"]


def _without_repeats(words: list[str]) -> list[str]:
    out: list[str] = []
    at = 0
    while at < len(words):
        times = 1
        while at + times < len(words) and words[at + times] == words[at]:
            times += 1
        out.append(words[at])
        if times > 1:
            out.append(_coded(times, " STUVWXYZs", ""))
        at += times
    return out
