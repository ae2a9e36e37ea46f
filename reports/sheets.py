"""The information sheet of an examination: one A4 page as a tagged archival PDF (PDF/A-3a).

What it holds is gathered and laid out at once, for it takes about a second. It always fits one
page: long content is set smaller, then shortened, and says that it is.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from math import ceil
from pathlib import Path
from threading import Lock
from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.utils import timezone
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration

from records.coverage import CoveredFace, covered_faces, faces_not_told
from records.models import Amendment, Examination, Face, Image
from records.plan import Plan, draw_plan, swatch
from records.vocabulary.settings import Telling, Told, tell
from reports.maps import ratio_in_words
from reports.pdf import Files

FOLDER = Path(__file__).parent / "print"
STYLES = (FOLDER / "dossier.css", FOLDER / "sheet.css")
LAYOUT = Lock()  # the typefaces are shared, and the layout's library is not made for threads


@dataclass(frozen=True)
class Fit:
    """How content is made to fit: the size of type in points, room for plans, how much is told."""

    type_pt: float
    plan_mm: tuple[float, float]
    words: int
    images: int
    plans: int
    settings: int = 1000


# From generous to last resort; the first that fits one page is taken.
FITS = (
    Fit(8.6, (82, 74), 100_000, 1000, 3),
    Fit(8.0, (82, 60), 100_000, 1000, 4),
    Fit(7.4, (82, 48), 100_000, 1000, 4),
    Fit(6.8, (60, 38), 100_000, 1000, 4),
    Fit(6.8, (60, 34), 600, 24, 3, 40),
    Fit(6.4, (52, 30), 320, 14, 2, 30),
    Fit(6.4, (44, 26), 160, 8, 1, 24),
    Fit(6.0, (40, 22), 80, 4, 1, 16),
)
PAGE_MM = 271.0  # the height that a page holds
FAR_OVER = 1.3  # what is reckoned so many pages high is not worth laying out


@dataclass(frozen=True)
class Sheet:
    """What the sheet of one examination tells."""

    examination: Examination
    images: list[Image]
    faces: list[CoveredFace]
    not_told: list[Face]
    settings: Telling
    amendments: list[Amendment]
    made: datetime


class SheetError(Exception):
    """The sheet does not fit one page whatever is shortened."""


def gather(examination: Examination) -> Sheet:
    """Everything that the sheet tells, as it stands now."""
    images = (
        examination.images.filter(withdrawn_at__isnull=True)
        .prefetch_related("placements__face")
        .order_by("date_earliest", "pk")
    )
    return Sheet(
        examination=examination,
        images=list(images),
        faces=covered_faces(examination),
        not_told=faces_not_told(examination),
        settings=tell(examination.settings, examination.technique.asked()),
        amendments=list(
            Amendment.objects.filter(
                content_type=ContentType.objects.get_for_model(Examination),
                object_id=examination.pk,
            ).select_related("signed_by")
        ),
        made=timezone.now(),
    )


@cache
def _styles() -> tuple[FontConfiguration, list[CSS]]:
    """The typefaces and styles of every sheet; reading the typefaces takes seconds, so once."""
    fonts = FontConfiguration()
    names = (finders.find("records/build/fonts.css"), *STYLES)
    return fonts, [CSS(filename=str(name), font_config=fonts) for name in names]


def render(sheet: Sheet) -> bytes:
    """The sheet as a PDF of one page. Raises SheetError."""
    with LAYOUT:
        fonts, styles = _styles()
        for fit in FITS:
            if fit is not FITS[-1] and about_mm(sheet, fit) > FAR_OVER * PAGE_MM:
                continue
            files = Files()
            html = page_html(sheet, fit, files)
            document = HTML(string=html, base_url="dossier:", url_fetcher=files).render(
                stylesheets=styles, font_config=fonts, pdf_variant="pdf/a-3a", pdf_tags=True
            )
            if len(document.pages) == 1:
                pdf: bytes = document.write_pdf(pdf_variant="pdf/a-3a", pdf_tags=True)
                return pdf
    raise SheetError("The information sheet does not fit one page.")


def about_mm(sheet: Sheet, fit: Fit) -> float:
    """Roughly how high the sheet would be: laying out what runs over pages takes long."""
    line = fit.type_pt * 0.3528 * 1.36  # mm; a letter is about 0.16 mm wide for each point of type
    look = sheet.examination

    def lines(text: str, width_mm: float) -> int:
        return ceil(min(len(text), fit.words) / (width_mm / (0.16 * fit.type_pt))) or 1

    left = 6 + sum(lines(text, 50) for text in (look.instrument, look.conditions, look.note))
    told = [line.value for _, group in sheet.settings.sections for line in group]
    right = sum(lines(value, 50) for value in told[: fit.settings])
    right += 3 * len(sheet.settings.sections) + len(sheet.settings.missing) // 3
    plans = [
        fit.plan_mm[1] + line * (3 + lines(one.coverage.rest_why, 86))
        for one in sheet.faces[: fit.plans]
    ]
    rest = lines(look.not_covered, 178) + len(sheet.faces[fit.plans :]) + 8
    rest += min(len(sheet.images), fit.images) + sum(lines(a.text, 178) for a in sheet.amendments)
    return 36 + line * 1.2 * (max(left, right) + rest) + sum(plans[::2])


def page_html(sheet: Sheet, fit: Fit, files: Files) -> str:
    """The sheet as HTML; `files` keeps the plans that it shows."""
    return render_to_string("reports/sheet.html", _context(sheet, fit, files))


def _context(sheet: Sheet, fit: Fit, files: Files) -> dict[str, Any]:
    shown = sheet.faces[: fit.plans]
    return {
        "sheet": sheet,
        "record": sheet.examination,
        "object": sheet.examination.campaign.object,
        "fit": fit,
        "plans": list(_plans(shown, fit, files)),
        "more_faces": sheet.faces[fit.plans :],
        "sections": _first(sheet.settings.sections, fit.settings),
        "more_settings": sum(len(group) for _, group in sheet.settings.sections) - fit.settings,
        "images": sheet.images[: fit.images],
        "more_images": len(sheet.images) - fit.images,
        "legend": [
            (files.keep(f"{name}.svg", swatch(examined=examined).encode(), "image/svg+xml"), words)
            for name, examined, words in (
                ("covered", True, "examined"),
                ("left", False, "not examined"),
            )
        ],
    }


def _first(sections: list[tuple[str, list[Told]]], most: int) -> list[tuple[str, list[Told]]]:
    """So many settings, under their headings."""
    kept = []
    for heading, group in sections:
        if most > 0:
            kept.append((heading, group[:most]))
        most -= len(group)
    return kept


def _plans(faces: list[CoveredFace], fit: Fit, files: Files) -> Iterator[dict[str, Any]]:
    for one in faces:
        plan: Plan = draw_plan(one.size_mm, one.outline, one.left, one.zones, within_mm=fit.plan_mm)
        name = f"plan-{one.face.pk}.svg"
        yield {
            "face": one,
            "ratio": ratio_in_words(plan.scale),
            "url": files.keep(name, plan.svg.encode(), "image/svg+xml"),
            "style": f"width: {plan.width_mm:.2f}mm; height: {plan.height_mm:.2f}mm",
        }
