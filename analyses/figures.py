"""Figures of spectra and patterns for print, as SVG or PDF, by matplotlib. No Django here."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

INKS = ("#1f2933", "#1d5f8a", "#9c3848", "#3f7d5a", "#b07a1e", "#6b4e8a")
DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 2)))
WIDTH_MM, HEIGHT_MM = 174, 100  # two columns of a journal page
MOST_LABELS, MOST_OF_ONE = 24, 6
AXES = {
    "keV": "Energy",
    "° 2θ": "Angle",
    "Å": "Spacing",
    "cm⁻¹": "Wavenumber",
    "nm": "Wavelength",
}


def figure(curves: Sequence[dict[str, Any]], form: str) -> bytes:
    """Draw curves over one axis, with the marks of a single one; the same curves, the same bytes.

    `curves` hold `name`, `x`, `y`, `x_unit`, `y_unit`, `reversed` and `findings` with their marks;
    `form` is 'svg' or 'pdf'. Strokes differ by dash as well as by colour.
    """
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib.figure import Figure

    settings: Any = {
        "font.family": "sans-serif",
        "font.size": 8,
        "svg.fonttype": "none",
        "svg.hashsalt": "antequem",
        "pdf.fonttype": 42,
        "axes.linewidth": 0.6,
    }
    with matplotlib.rc_context(settings):
        sheet = Figure(figsize=(WIDTH_MM / 25.4, HEIGHT_MM / 25.4), layout="constrained")
        axes = sheet.add_subplot()
        for number, curve in enumerate(curves):
            axes.plot(
                curve["x"],
                curve["y"],
                color=INKS[number % len(INKS)],
                linestyle=DASHES[number % len(DASHES)],
                linewidth=0.7,
                label=curve["name"],
            )
        first = curves[0]
        axes.set_xlabel(_axis(first["x_unit"]))
        axes.set_ylabel(first["y_unit"] or "signal")
        axes.margins(x=0)
        if first["reversed"]:
            axes.invert_xaxis()
        axes.spines[["top", "right"]].set_visible(False)
        if len(curves) > 1:
            axes.legend(frameon=False)
        else:
            axes.set_title(first["name"], loc="left")
            _mark(axes, first)
        made = BytesIO()
        metadata = {"Date": None} if form == "svg" else {"CreationDate": None}
        sheet.savefig(made, format=form, metadata=metadata)
    return made.getvalue()


def _axis(unit: str) -> str:
    return f"{AXES[unit]}, {unit}" if unit in AXES else "Axis"


def _mark(axes: Any, curve: dict[str, Any]) -> None:
    """Name the places that speak for findings, the surest first."""
    order = {"sure": 0, "likely": 1, "possible": 2}
    findings = sorted(curve["findings"], key=lambda finding: order[finding["certainty"]])
    marks = []
    for finding in findings:
        agreeing = [mark for mark in finding["marks"] if mark["agrees"]]
        agreeing.sort(key=lambda mark: -(mark["height"] or 0))
        marks += agreeing[:MOST_OF_ONE]
    top = max(curve["y"])
    for mark in marks[:MOST_LABELS]:
        axes.axvline(mark["x"], color="#9aa5b1", linewidth=0.4, zorder=0)
        axes.text(mark["x"], top, mark["label"], rotation=90, fontsize=6, va="top", ha="right")
