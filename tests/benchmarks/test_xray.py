"""Evaluating X-ray spectra, against the bare library calls that any evaluation would need.

500 spectra: for each, one background by pybaselines and one non-negative least squares by SciPy
with a column for each family of lines. The evaluation is timed on some of them and reckoned up to
all; only durations of the same run are compared. What was measured is printed with `pytest -s`.
"""

from time import process_time

import numpy as np
from pybaselines.smooth import snip
from scipy.optimize import nnls

from analyses.spectra.curve import Axis, Curve
from analyses.spectra.xray import XraySettings, evaluate
from analyses.spectra.xray.detector import noise_kev2
from analyses.spectra.xray.fit import Scale
from analyses.spectra.xray.lines import CONSIDERED, families
from tests.unit.spectra.xray.generator import PAINTS, Instrument, make, mixture

SPECTRA, SAMPLE = 500, 12
MOST_TIMES = 60.0


def test_evaluating_costs_at_most_sixty_bare_fits() -> None:
    settings = XraySettings.xrf()
    paints = list(PAINTS)[:4]
    made = [make(Instrument(), mixture(PAINTS[paint]), 3e5) for paint in paints]
    energy = made[0].energy_kev
    curves = [
        Curve(energy, made[n % len(made)].counted(n), Axis.ENERGY, "counts") for n in range(SPECTRA)
    ]
    step = energy[1] - energy[0]
    scale = Scale(np.append(energy - step / 2, energy[-1] + step / 2), "Si", noise_kev2("Si", 140))
    matrix = np.column_stack(
        [
            scale.shape(line for group in family.groups for line in group.lines)
            for element in sorted(CONSIDERED)
            for family in families(element, settings, 40.0)
        ]
    )
    evaluate(curves[0], settings)  # reads the tables

    began = process_time()
    for curve in curves:
        under = snip(curve.y, max_half_window=12, decreasing=True)[0]
        root = 1 / np.sqrt(np.maximum(curve.y, 1))
        nnls(matrix * root[:, None], (curve.y - under) * root)
    bare = process_time() - began

    began = process_time()
    for curve in curves[:SAMPLE]:
        evaluate(curve, settings)
    ours = (process_time() - began) * SPECTRA / SAMPLE
    print(
        f"\n{SPECTRA} spectra: bare {bare:.1f} s, evaluated {ours:.1f} s: {ours / bare:.1f} times"
    )
    assert ours < MOST_TIMES * bare
