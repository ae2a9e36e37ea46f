"""Figures of spectra and patterns for print, as SVG or PDF, by matplotlib. No Django here."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

# Curves are told apart by their places on the sheet; colour only helps, and is dark enough in grey.
INKS = ("#1f2933", "#1d5f8a", "#9c3848", "#2f6b49", "#8a5a10", "#6b4e8a")
STROKES = {"sure": "-", "likely": (0, (4, 2)), "possible": (0, (1, 2))}
GREY = "#6b7682"
WIDTH_MM, HEIGHT_MM, MOST_MM = 174, 110, 240  # two columns of a journal page, and its height
EACH_MM, FEWEST_APART = 22, 4  # of height for each curve, from this many on
LETTERS_PT, SMALL_PT = 8, 6
MOST_LABELS, MOST_OF_ONE = 30, 6
ROOM = 1.15  # of the height of the letters, between labels that stand beside each other
AXES = {
    "keV": "Energy, keV",
    "° 2θ": "Angle, ° 2θ",
    "Å": "Spacing, Å",
    "cm⁻¹": "Wavenumber, cm⁻¹",
    "nm": "Wavelength, nm",
}


def figure(curves: Sequence[dict[str, Any]], form: str) -> bytes:
    """One curve with what was found named above it, or several above one another, each named.

    `curves` hold `name`, `of`, `x`, `y`, `x_unit`, `y_unit`, `reversed`, `background` and, for a
    single one, `findings` and `unexplained` with their marks; `form` is 'svg' or 'pdf'. The same
    curves give the same bytes.
    """
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib.figure import Figure

    settings: Any = {
        "font.family": "sans-serif",
        "font.size": LETTERS_PT,
        "svg.fonttype": "none",
        "svg.hashsalt": "antequem",
        "pdf.fonttype": 42,
        "axes.linewidth": 0.6,
        "xtick.major.width": 0.6,
        "ytick.major.width": 0.6,
        "lines.solid_joinstyle": "round",
    }
    first, several = curves[0], len(curves) > 1
    height = min(HEIGHT_MM + EACH_MM * max(len(curves) - FEWEST_APART, 0), MOST_MM)
    with matplotlib.rc_context(settings):
        sheet = Figure(figsize=(WIDTH_MM / 25.4, height / 25.4), layout="constrained")
        axes = sheet.add_subplot()
        axes.set_xlabel(axis(first["x_unit"]))
        axes.spines[["top", "right"]].set_visible(False)
        if several:
            _above_one_another(axes, curves)
        else:
            _alone(sheet, axes, first)
        title = first["technique"] if several else first["name"]
        sheet.suptitle(title, x=0.01, ha="left", fontsize=LETTERS_PT + 1)
        made = BytesIO()
        metadata = {"Date": None} if form == "svg" else {"CreationDate": None}
        sheet.savefig(made, format=form, metadata=metadata)
    return made.getvalue()


def axis(unit: str) -> str:
    """A unit with what is measured in it: 'Energy, keV'."""
    return AXES.get(unit, "Axis")


def _along(axes: Any, curves: Sequence[dict[str, Any]]) -> None:
    """From end to end of all curves, infrared spectra from high wavenumbers to low ones."""
    ends = min(c["x"][0] for c in curves), max(c["x"][-1] for c in curves)
    axes.set_xlim(*(ends[::-1] if curves[0]["reversed"] else ends))


def _above_one_another(axes: Any, curves: Sequence[dict[str, Any]]) -> None:
    """Each brought to its own height, the first one uppermost, named where hardly anything stands.

    That is at the end of high energies, angles and wavenumbers.
    """
    _along(axes, curves)
    end, side = (0.0, "left") if curves[0]["reversed"] else (1.0, "right")
    for number, curve in enumerate(curves):
        ink, foot = INKS[number % len(INKS)], 1.15 * (len(curves) - 1 - number)
        low, high = min(curve["y"]), max(curve["y"])
        span = (high - low) or 1.0
        axes.plot(curve["x"], [foot + (y - low) / span for y in curve["y"]], color=ink, lw=0.7)
        at = axes.get_yaxis_transform()
        axes.text(end, foot + 0.5, curve["of"], transform=at, color=ink, ha=side, va="bottom")
    axes.set_yticks([])
    axes.set_ylabel(f"{curves[0]['y_unit'] or 'signal'}, each to its own height")


def _alone(sheet: Any, axes: Any, curve: dict[str, Any]) -> None:
    from matplotlib.lines import Line2D

    _along(axes, [curve])
    axes.plot(curve["x"], curve["y"], color=INKS[0], lw=0.7)
    axes.set_ylabel(curve["y_unit"] or "signal")
    labels = _labels(curve)
    _name(axes, labels)
    used = {certainty for _, _, certainty in labels}
    key = [Line2D([], [], color=GREY, lw=0.7, ls=STROKES[n], label=n) for n in STROKES if n in used]
    if under := curve["background"]:
        key += axes.plot(under["x"], under["y"], color=INKS[2], lw=0.7, ls=":", label="background")
    if key:
        sheet.legend(
            handles=key, loc="outside lower right", ncols=len(key), frameon=False, fontsize=SMALL_PT
        )


def _labels(curve: dict[str, Any]) -> list[tuple[float, str, str]]:
    """Places with their words and how sure they are, ascending: the highest of each finding first,
    as many as there is room for, and what stays unexplained.
    """
    ranked = []
    for finding in curve["findings"]:
        agreeing = [mark for mark in finding["marks"] if mark["agrees"]]
        agreeing.sort(key=lambda mark: -(mark["height"] or 0))
        surest = list(STROKES).index(finding["certainty"])
        for n, mark in enumerate(agreeing[:MOST_OF_ONE]):
            ranked.append((n, surest, mark, finding["certainty"]))
    ranked.sort(key=lambda entry: entry[:2])
    unknown = [(mark["x"], "?", "possible") for mark in curve["unexplained"][: MOST_LABELS // 3]]
    named = [(mark["x"], mark["word"], sure) for _, _, mark, sure in ranked]
    return sorted(unknown + named[: MOST_LABELS - len(unknown)])


def _name(axes: Any, labels: Sequence[tuple[float, str, str]]) -> None:
    """Lines through the curve, their names side by side above it, led to where there is room."""
    low, high = sorted(axes.get_xlim())
    apart = (high - low) * SMALL_PT * 0.353 * ROOM / (WIDTH_MM - 20)
    spread = _spread([place for place, _, _ in labels], apart, low, high)
    at = axes.get_xaxis_transform()
    for (place, words, certainty), above in zip(labels, spread, strict=True):
        style = {"color": GREY, "lw": 0.5, "ls": STROKES[certainty], "zorder": 0}
        axes.plot([place, place], [0, 1], transform=at, **style)
        axes.plot([place, above], [1, 1.04], transform=at, color=GREY, lw=0.4, clip_on=False)
        axes.text(
            above, 1.05, words, transform=at, rotation=90, fontsize=SMALL_PT, va="bottom",
            ha="center",
        )  # fmt: skip


def _spread(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Ascending places moved as little as will do until neighbours are `apart`, within the ends."""
    groups: list[list[float]] = []  # of those that touch: their sum of wishes, and their count
    for place in places:
        groups.append([place, 1])
        while len(groups) > 1 and _start(groups[-1], apart) < _end(groups[-2], apart):
            later = groups.pop()
            # Those of the later group wish to start behind the earlier one.
            groups[-1][0] += later[0] - later[1] * groups[-1][1] * apart
            groups[-1][1] += later[1]
    found = []
    for group in groups:
        start = min(max(group[0] / group[1], low), high - (group[1] - 1) * apart)
        found += [start + n * apart for n in range(int(group[1]))]
    return found


def _start(group: Sequence[float], apart: float) -> float:
    return group[0] / group[1]


def _end(group: Sequence[float], apart: float) -> float:
    return group[0] / group[1] + group[1] * apart
