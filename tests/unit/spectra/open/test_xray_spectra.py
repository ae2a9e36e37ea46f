"""Spectra measured on standards, and the elements that are documented to be in them.

They lie in the wheels of PyMca5 (European Synchrotron Radiation Facility) and exspy. Energies of
channels are those that PyMca5 fits in its own tests and configuration.
"""

import io

import h5py
import numpy as np

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.findings import Certainty, Evaluation
from analyses.spectra.readers import ColumnChoice, read
from analyses.spectra.xray import XraySettings, evaluate
from tests.unit.spectra.open.packages import carried

# NIST SRM 1155, stainless steel, as PyMca5's Steel.cfg gives it: mass fractions in percent.
STEEL = {"Fe": 64.3, "Cr": 18.4, "Ni": 12.4, "Mo": 2.26, "Mn": 1.62, "Si": 0.51, "Cu": 0.175,
         "W": 0.11, "Co": 0.109, "V": 0.05, "P": 0.02, "S": 0.0175, "As": 0.011,
         "Pb": 0.001}  # fmt: skip
# What PyMca5's test fits in its standard of many elements, about 500 parts in a million each.
MANY = {"Ca", "Ti", "V", "Cr", "Mn", "Fe", "Co", "Ni", "Cu", "Zn", "As", "Se", "Sr", "Cd", "Sb",
        "Tl", "Pb"}  # fmt: skip


def curve(counts: Array, first_kev: float, step_kev: float) -> Curve:
    """The channels above 50 eV; below lies the electronics' own peak."""
    energy = first_kev + step_kev * np.arange(len(counts), dtype=np.float64)
    kept = energy > 0.05
    return Curve(energy[kept], counts[kept], Axis.ENERGY, "counts")


def told(evaluation: Evaluation, *certainties: Certainty) -> set[str]:
    return {one.code for one in evaluation.findings if one.certainty in certainties}


def test_stainless_steel_is_read_as_certified() -> None:
    """Excited by 16 keV X-rays without a tube's lines; molybdenum shows its L lines alone."""
    text = carried("pymca5", "PyMca5/PyMcaData/Steel.spe").decode()
    values = np.array(text.partition("$DATA:")[2].split(), dtype=np.float64)[2:]
    settings = XraySettings.xrf(16.5, "", path_mm=50, thickness_mm=0.35, window_um=20)
    evaluation = evaluate(curve(values, -0.0061, 0.011928), settings)
    sure = told(evaluation, Certainty.SURE)
    assert sure >= {"Fe", "Cr", "Ni", "Mn", "Cu", "W", "Co"}
    assert "V" in told(evaluation, Certainty.SURE, Certainty.LIKELY)
    assert told(evaluation, Certainty.SURE, Certainty.LIKELY) <= STEEL.keys()
    # Lead is there and arsenic is, and one line of both is seen; so are sulfur and molybdenum.
    open_ = [set(one.codes) for one in evaluation.unsettled]
    assert {"Pb", "As"} in open_
    assert {"S", "Mo"} in open_
    assert any("escape of Fe Kα" in remark for remark in evaluation.remarks)
    assert any(abs(mark.x - 16.0) < 0.1 for mark in evaluation.unexplained)  # the beam, scattered


def test_a_standard_of_many_elements_is_read_as_made() -> None:
    """Seventeen elements side by side, arsenic beneath lead, vanadium beneath titanium, chromium
    beneath vanadium; read as one column of counts with the place of its channels given.
    """
    choice = ColumnChoice(y=0, start=-0.4925, step=0.0050205, x_unit="keV", y_unit="counts")
    data = carried("pymca5", "PyMca5/PyMcaData/XRFSpectrum.mca")
    whole = read(data, "XRFSpectrum.mca", choice)
    assert len(whole.x) == 4096
    above = whole.x > 0.05
    settings = XraySettings.xrf(22.0, "Mo", path_mm=2, thickness_mm=0.45, window_um=8)
    spectrum = Curve(whole.x[above], whole.y[above], whole.x_unit, whole.y_unit)
    evaluation = evaluate(spectrum, settings)
    sure = told(evaluation, Certainty.SURE)
    # Cadmium and antimony show L lines alone here, beside argon and beneath calcium.
    assert sure == MANY - {"Cd", "Sb"}
    assert told(evaluation, Certainty.LIKELY) <= {"Cd", "Sb"}
    (antimony,) = [one for one in evaluation.findings if one.code == "Sb"]
    assert antimony.certainty != Certainty.POSSIBLE or "beneath Ca" in " ".join(antimony.against)
    assert told(evaluation, *Certainty) == MANY
    assert any("Ar Kα" in remark for remark in evaluation.remarks)


def test_a_layer_for_electron_microscopes_is_read_as_certified() -> None:
    """EDS-TM002 of the German federal institute for materials (BAM): C, Al, Mn, Cu and Zr in 6 µm
    on silicon. Oxygen is in the elements that the microscope's program had been told, and so is
    silver, of which the sum of zirconium and copper makes one doubt.
    """
    file = io.BytesIO(carried("exspy", "exspy/data/EDS_SEM_TM002.hspy"))
    with h5py.File(file) as opened:
        (experiment,) = opened["Experiments"].values()
        counts = experiment["data"][()].astype(float)
        axis = dict(experiment["axis-0"].attrs)
        beam = dict(experiment["metadata/Acquisition_instrument/SEM"].attrs)["beam_energy"]
    settings = XraySettings.sem_edx(float(beam))
    spectrum = curve(counts, float(axis["offset"]), float(axis["scale"]))
    evaluation = evaluate(spectrum, settings)
    sure = told(evaluation, Certainty.SURE)
    assert {"Mn", "Cu", "Zr"} <= sure <= {"C", "O", "Al", "Mn", "Cu", "Zr"}
    likely = told(evaluation, Certainty.SURE, Certainty.LIKELY)
    assert {"Al", "Mn", "Cu", "Zr", "O"} == likely
    assert "C" in told(evaluation, Certainty.POSSIBLE)  # deposits of the beam give it as well
    (silver,) = [one for one in evaluation.unsettled if "Ag" in one.codes]
    assert "the sum of Zr Lα and Cu Lα" in silver.says
    (silicon,) = [one for one in evaluation.unsettled if one.codes[0] == "Si"]
    assert "beneath Zr" in silicon.says
