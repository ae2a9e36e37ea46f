"""An infrared spectrum evaluated: bands, groups, references, and what stays open."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np

from analyses.spectra.curve import Array, Axis, Curve
from analyses.spectra.findings import Certainty, Evaluation, Finding, Mark, Unsettled
from analyses.spectra.infrared.assignment import assign, pairs_explaining, places_in_words
from analyses.spectra.infrared.bands import Band, Found, find_bands
from analyses.spectra.infrared.preparation import (
    CARBON_DIOXIDE,
    Measured,
    Prepared,
    guess_measured,
    noise_of,
    prepare,
)
from analyses.spectra.infrared.references import Hit, Reference, compare

METHOD = "infrared bands"
VERSION = "3"
# Correlation of first derivatives at which a reference is worth naming (from experience with the
# generator of the tests; a department judges by its own references).
LIKELY_CORRELATION, POSSIBLE_CORRELATION = 0.95, 0.8


@dataclass(frozen=True, slots=True)
class InfraredSettings:
    """What a scientist may set; the rest follows from the curve.

    `measured` is how the spectrum was taken (None: as the unit of the values tells).
    `depth_corrected` is for ATR, `kramers_kronig` for specular reflection. `least_sigma` and
    `least_share` decide what counts as a band: its height over the noise, and over the highest
    band. `excluded` regions (cm⁻¹) are left out when references are compared.
    """

    measured: Measured | None = None
    depth_corrected: bool = False
    kramers_kronig: bool = False
    least_sigma: float = 5.0
    least_share: float = 0.01
    baseline_width: float = 1200.0
    excluded: tuple[tuple[float, float], ...] = (CARBON_DIOXIDE,)


def evaluate(
    curve: Curve,
    settings: InfraredSettings | None = None,
    references: Sequence[Reference] = (),
) -> Evaluation:
    """What the bands of a spectrum show, how surely, and what is left.

    Raises `UnsuitableCurve` for a curve that is no infrared spectrum.
    """
    settings = settings or InfraredSettings()
    measured = settings.measured or guess_measured(curve)
    spectrum = prepare(
        curve,
        measured,
        kramers_kronig_wanted=settings.kramers_kronig,
        depth_corrected=settings.depth_corrected,
        baseline_width=settings.baseline_width,
    )
    remarks = list(spectrum.remarks)
    parameters = {
        **asdict(settings),
        "measured": measured.value,
        "noise": spectrum.noise,
        "references": [reference.name for reference in references],
    }
    found = find_bands(spectrum, least_sigma=settings.least_sigma, least_share=settings.least_share)
    remarks += _air(found)
    findings: list[Finding] = []
    unsettled: list[Unsettled] = []
    if spectrum.is_absorption:
        bands = found.own
        height = max((band.height for band in bands), default=0.0)
        threshold = max(settings.least_sigma * spectrum.noise, settings.least_share * height)
        findings, unsettled, left = assign(
            spectrum, bands, in_atr=measured == Measured.ATR, threshold=threshold
        )
        for pair, places in pairs_explaining(findings, bands):
            rest = f"leave {places_in_words(places)} cm⁻¹" if places else "leave no band"
            remarks.append(f"Together, {pair[0]} and {pair[1]} {rest} unexplained.")
        unexplained = [_open(band) for band in left]
    else:
        bent, remark = _bent_bands(spectrum)
        unexplained = bent
        remarks.append(remark)
    if references:
        hits, notes = compare(
            spectrum, references, excluded=settings.excluded,
            depth_corrected=settings.depth_corrected,
        )  # fmt: skip
        remarks += notes
        findings += _from_references(hits, references)
        remarks += _told_hits(hits)
    return Evaluation(
        METHOD,
        VERSION,
        parameters,
        tuple(findings),
        tuple(unsettled),
        tuple(unexplained),
        tuple(remarks),
        _background(curve, spectrum, measured, settings),
        Axis.WAVENUMBER,
    )


def _air(found: Found) -> list[str]:
    remarks = []
    if found.carbon_dioxide:
        remarks.append(
            "Carbon dioxide of the air shows between 2280 and 2400 cm⁻¹; nothing is assigned there."
        )
    lines = [band.x for band in found.bands if band.air == "water vapour"]
    if lines:
        remarks.append(
            f"Water vapour shows: {len(lines)} narrow lines between 1300–1900 and 3500–3950 cm⁻¹ "
            "are not assigned. Measure the background anew, or in dry gas, to see weak bands there."
        )
    return remarks


def _open(band: Band) -> Mark:
    note = "shoulder" if band.shape == "shoulder" else f"{band.width:.0f} cm⁻¹ wide"
    return Mark(round(band.x, 1), "not assigned", None, band.height, band.sigma, True, note)


def _bent_bands(spectrum: Prepared) -> tuple[list[Mark], str]:
    """Features of a specular reflection that was not transformed: listed, never assigned.

    A weak band is bent like a derivative: the reflection rises to one side of it and falls to the
    other. A strong one mirrors nearly all light (reststrahlen band).
    """
    marks = []
    reflectance = 10.0**-spectrum.y
    up = find_bands(_with(spectrum, reflectance)).bands
    down = find_bands(_with(spectrum, -reflectance)).bands
    for band in up:
        if band.air:
            continue
        after = [b for b in down if band.x < b.x < band.x + 2.5 * max(band.width, 10)]
        top = float(np.interp(band.x, spectrum.x, reflectance))
        if top > 0.3:
            note = "reststrahlen band: the absorption lies within it, not at its top"
            marks.append(Mark(round(band.x, 1), "reflection maximum", None, top, band.sigma,
                              True, note))  # fmt: skip
        elif after:
            middle = (band.x + after[0].x) / 2
            note = f"bent like a derivative between {band.x:.0f} and {after[0].x:.0f} cm⁻¹"
            marks.append(Mark(round(middle, 1), "bent band", None, top, band.sigma, True, note))
    remark = (
        f"In a specular reflection bands are bent or turned over ({len(marks)} are listed): they "
        "were not assigned. Ask for the Kramers–Kronig transformation, or compare with references "
        "that were measured in the same way."
    )
    return marks, remark


def _with(spectrum: Prepared, values: Array) -> Prepared:
    return Prepared(spectrum.x, values, np.full_like(values, values.min()), noise_of(values))


def _from_references(hits: Sequence[Hit], references: Sequence[Reference]) -> list[Finding]:
    codes = {reference.name: reference.code or reference.name for reference in references}
    out = []
    for hit in hits:
        if len(hit.names) > 1 or hit.correlation < POSSIBLE_CORRELATION:
            continue
        sure = hit.correlation >= LIKELY_CORRELATION and hit.unexplained < 0.1
        grounds = (
            f"First derivatives correlate by {hit.correlation:.2f} with the reference "
            f"“{hit.names[0]}” between {hit.range[0]:.0f} and {hit.range[1]:.0f} cm⁻¹.",
        )
        against = (
            (f"The reference leaves {hit.unexplained:.0%} of the variation, most at "
             f"{places_in_words(hit.left)} cm⁻¹.",)
            if hit.left else ()
        )  # fmt: skip
        out.append(
            Finding(
                "reference spectrum",
                codes[hit.names[0]],
                hit.names[0],
                Certainty.LIKELY if sure else Certainty.POSSIBLE,
                grounds,
                against,
                (),
                hit.correlation,
            )
        )
    return out


def _told_hits(hits: Sequence[Hit]) -> list[str]:
    """Mixtures of two references that leave clearly less than the better of them alone."""
    single = {hit.names[0]: hit.unexplained for hit in hits if len(hit.names) == 1}
    told = []
    for hit in hits:
        if len(hit.names) != 2:
            continue
        alone = min(single.get(name, 1.0) for name in hit.names)
        if hit.unexplained < 0.6 * alone and hit.unexplained < 0.3:
            rest = f", most at {places_in_words(hit.left)} cm⁻¹" if hit.left else ""
            told.append(
                f"The references “{hit.names[0]}” and “{hit.names[1]}” together leave "
                f"{hit.unexplained:.0%} of the variation unexplained{rest}; the better of them "
                f"alone leaves {alone:.0%}."
            )
    return told[:3]


def _background(
    curve: Curve, spectrum: Prepared, measured: Measured, settings: InfraredSettings
) -> tuple[float, ...]:
    """The baseline in the unit of the curve, where it can be drawn there."""
    if measured not in (Measured.TRANSMISSION, Measured.ATR):
        return ()
    values = np.interp(curve.x, spectrum.x, spectrum.baseline)
    if measured == Measured.ATR and settings.depth_corrected:
        values = values * 1000 / np.clip(curve.x, 1, None)
    if curve.y_unit == "transmittance":
        values = 10.0**-values * (100 if np.median(curve.y) > 1.5 else 1)
    return tuple(float(value) for value in values)
