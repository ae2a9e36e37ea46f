"""Laying out a dossier: content to pages, with WeasyPrint, as a tagged archival PDF (PDF/A-3a)."""

import logging
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.utils.text import capfirst
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

from analyses import strata
from analyses.choices import Decision
from analyses.strata import Stratum
from records.choices import Family
from records.models import Image
from records.placing import chart
from records.vocabulary.hazards import in_words
from reports import pictures
from reports.cautions import CLOSING, FURTHER
from reports.content import FAMILIES, Content, FacePart, State
from reports.history import History
from reports.maps import WIDTH_MM, Ground, LegendLine, SurfaceMap, draw_samples, draw_traces
from reports.models import Dossier

STYLE = Path(__file__).parent / "print" / "dossier.css"
SCHEME = "dossier:"
COVER_PX = 1500
LEGEND_COLUMNS = 3

Report = Callable[[float, str], None]
"""Told how far the work is, from 0 to 1, and what is being done."""


class Section(NamedTuple):
    code: str
    title: str
    number: str

    @property
    def template(self) -> str:
        return f"reports/dossier/{self.code}.html"


TITLES = {
    "identity": "Identity and construction",
    "condition": "Condition",
    "maps": "Surface maps",
    "history": "History",
    "treatments": "Treatments",
    "occurrences": "Occurrences and journeys",
    "laboratory": "Sampling and results",
    "images": "Images",
    "sources": "Sources",
    "open": "Open questions",
    "cautions": "Cautions",
    "verify": "How to verify",
    "traces": "All traces",
}
SECTIONS = [
    Section(code, title, "A" if code == "traces" else str(number))
    for number, (code, title) in enumerate(TITLES.items(), start=1)
]


class RenderError(Exception):
    """A part of the dossier could not be drawn."""


@dataclass(frozen=True)
class Rendered:
    pdf: bytes
    page_count: int


@dataclass(frozen=True)
class MapPart:
    title: str
    frame_note: str
    picture: str
    alt: str
    url: str
    drawn: SurfaceMap

    @property
    def legend(self) -> list[LegendLine | None]:
        """The legend in rows that read downwards in columns; None fills a column's end."""
        lines: list[LegendLine | None] = list(self.drawn.legend)
        rows = -(-len(lines) // LEGEND_COLUMNS)
        lines += [None] * (rows * LEGEND_COLUMNS - len(lines))
        return [
            lines[column * rows + row] for row in range(rows) for column in range(LEGEND_COLUMNS)
        ]

    @property
    def width(self) -> str:
        return f"{self.drawn.width_mm:.2f}"

    @property
    def height(self) -> str:
        return f"{self.drawn.height_mm:.2f}"


@dataclass(frozen=True)
class PicturePart:
    image: Image
    url: str
    fixity: str


@dataclass
class Files(URLFetcher):
    """What the layout may fetch: parts drawn for this dossier, and the program's own typefaces."""

    parts: dict[str, tuple[bytes, str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        super().__init__(allowed_protocols={"file", "data"})

    def keep(self, name: str, content: bytes, mime: str) -> str:
        """Keep a part; returns the address under which the layout finds it."""
        url = f"{SCHEME}{name}"
        self.parts[url] = (content, mime)
        return url

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        if url.startswith(SCHEME):
            content, mime = self.parts[url]
            return URLFetcherResponse(url, content, {"Content-Type": mime})
        return super().fetch(url, headers)


def render(dossier: Dossier, content: Content, history: History | None, report: Report) -> Rendered:
    """Draw everything and lay it out. Raises RenderError when a part cannot be drawn."""
    files = Files()
    report(0.0, "Drawing surface maps")
    maps = _maps(content.faces, files)
    checked = []
    for position, image in enumerate(content.images):
        report(0.1 + 0.25 * position / len(content.images), f"Checking image files: {image.title}")
        checked.append(_picture(image, files))
    report(0.35, "Drawing cross-sections")
    sections = _sections(content, files)
    label = content.label_picture
    cover = pictures.small_copy(label.file, COVER_PX) if label else None
    html = render_to_string(
        "reports/dossier/dossier.html",
        {
            "dossier": dossier,
            "object": content.object,
            "content": content,
            "history": history,
            "made": content.as_of,
            "sections": SECTIONS,
            "maps": maps,
            "pictures": checked,
            "sections_drawn": sections,
            "timelines": _timelines(history, files) if history else [],
            "label_picture": files.keep("cover.jpg", cover, "image/jpeg") if cover else "",
            "brief": _brief(content),
            "closing": CLOSING,
            "further": FURTHER,
            "hazards": _hazards(content),
            "techniques": sorted(
                {
                    (e.technique.abbreviation, e.technique.label)
                    for e in content.examinations
                    if e.technique.abbreviation
                }
            ),
        },
    )
    report(0.4, "Laying out pages")
    fonts = FontConfiguration()
    sheets = [
        CSS(filename=finders.find("records/build/fonts.css"), font_config=fonts),
        CSS(filename=STYLE, font_config=fonts),
    ]
    attachments = [
        Attachment(
            string=data, name=name, description=f"{name} of the history", relationship="Data"
        )
        for name, data in (history.attachments() if history else {}).items()
    ]
    with _told_by_page(report), _no_part_missing():
        document = HTML(string=html, base_url=SCHEME, url_fetcher=files).render(
            stylesheets=sheets, font_config=fonts, pdf_variant="pdf/a-3a", pdf_tags=True
        )
        report(0.9, "Writing the PDF")
        document.metadata.attachments = attachments
        pdf = document.write_pdf(
            pdf_variant="pdf/a-3a",
            pdf_tags=True,
            pdf_identifier=identifier(dossier),
            custom_metadata=True,
        )
    return Rendered(pdf, len(document.pages))


def identifier(dossier: Dossier) -> bytes:
    """The PDF's own identifier, by which a file can be told to claim to be this dossier."""
    return f"antequem-dossier-{dossier.pk}".encode()


# Parts


def _maps(faces: list[FacePart], files: Files) -> list[MapPart]:
    """For each face a map of every family that it has traces of, and one of its sampling points."""
    made = []
    for part in faces:
        ground, picture = _ground(part, files)
        plans = [
            (capfirst(words), words, draw_traces(ground, part.marks[family]))
            for family, words in FAMILIES.items()
            if part.marks[family]
        ]
        if part.spots:
            plans.append(("Sampling points", "sampling points", draw_samples(ground, part.spots)))
        for title, words, drawn in plans:
            name = f"map-{part.face.pk}-{words.replace(' ', '-')}.svg"
            made.append(
                MapPart(
                    capfirst(f"{part.face.name}: {title.lower()}"),
                    part.frame_note,
                    picture,
                    f"Map of the {part.face.name} with {drawn.count} {words}, at {drawn.ratio}",
                    files.keep(name, drawn.svg.encode(), "image/svg+xml"),
                    drawn,
                )
            )
    return made


def _ground(part: FacePart, files: Files) -> tuple[Ground, str]:
    """What the face's maps are drawn on, with its picture paled if one is placed on it."""
    placement = part.picture
    if placement is None:
        return part.ground, ""
    paled = pictures.ground(placement.image.file, chart(placement), part.size_mm)
    if paled is None:
        return part.ground, ""
    url = files.keep(f"ground-{part.face.pk}.jpg", paled, "image/jpeg")
    base = part.ground
    words = f"{placement.image.title}, placed within {max(placement.rms_mm, 0.1):.1f} mm"
    return Ground(base.width_mm, base.height_mm, base.outline, base.zones, url), words


def _picture(image: Image, files: Files) -> PicturePart:
    checked = pictures.check(image.file)
    if not checked.sha256:
        fixity = "missing"
    else:
        fixity = "unaltered" if checked.sha256 == image.sha256 else "differs"
    url = files.keep(f"image-{image.pk}.jpg", checked.small, "image/jpeg") if checked.small else ""
    return PicturePart(image, url, fixity)


def _sections(content: Content, files: Files) -> list[dict[str, Any]]:
    drawn = []
    for part in content.sections:
        strata_of = [
            Stratum(layer.number, layer.thickness_min_um, layer.thickness_max_um, layer.colour_hex)
            for layer, _ in part.layers
        ]
        diagram = strata.draw(strata_of)
        name = f"section-{part.preparation.pk}.svg"
        photograph = f"{SCHEME}image-{part.preparation.image_id}.jpg"
        drawn.append(
            {
                "preparation": part.preparation,
                "photograph": photograph if photograph in files.parts else "",
                "layers": part.layers,
                "thickened": diagram.thickened,
                "url": files.keep(name, diagram.svg.encode(), "image/svg+xml"),
                "alt": f"Cross-section {part.preparation} with {len(strata_of)} layers",
            }
        )
    return drawn


def _timelines(history: History, files: Files) -> list[dict[str, str]]:
    """The drawings of the history's own pages, in the width of the text."""
    made = []
    for position, layout in enumerate(history.timelines):
        drawn = render_to_string("records/object/history_timeline.html", {"layout": layout})
        titles = ", ".join(lane.title.lower() for lane in layout.lanes)
        made.append(
            {
                "url": files.keep(f"timeline-{position}.svg", drawn.encode(), "image/svg+xml"),
                "alt": f"Timeline from {layout.first.year} to {layout.last.year}: {titles}",
                "height": f"{layout.height * WIDTH_MM / layout.width:.2f}",
            }
        )
    return made


def _brief(content: Content) -> dict[str, Any]:
    """What the page of contents says first."""
    lines = [line for face in content.faces for line in face.traces]
    families = Counter(line.trace.kind.family for line in lines if line.state != State.GONE)
    decided = [found.identification for found in content.identifications]
    accepted = [i for i in decided if i.decision == Decision.ACCEPTED]
    return {
        "alterations": families[Family.ALTERATION],
        "interventions": families[Family.INTERVENTION],
        "makings": families[Family.MAKING],
        "gone": sum(line.state == State.GONE for line in lines),
        "covered": [
            (
                capfirst(face.face.name),
                face.zone_lines[0].altered.extent,
                [line.kind.label.lower() for line in face.kind_lines[Family.ALTERATION][:3]],
            )
            for face in content.faces
            if face.zone_lines[0].altered.extent
        ],
        "materials": list(dict.fromkeys(i.material.label.lower() for i in accepted)),
        "cautions": list(dict.fromkeys(c.title for c in content.cautions if c.title != FURTHER)),
        "further": [c for c in content.cautions if c.title == FURTHER],
        "not_covered": [e for e in content.examinations if e.not_covered],
        "unstated": any(face.unstated_uncertainty for face in content.faces),
    }


def _hazards(content: Content) -> list[tuple[str, str]]:
    return in_words(sorted({code for one in content.cautions for code in one.hazards}))


# Following the layout


@contextmanager
def _told_by_page(report: Report) -> Iterator[None]:
    """Report each page as the layout reaches it; WeasyPrint tells through its progress logger."""
    logger = logging.getLogger("weasyprint.progress")

    class Pages(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            message = record.getMessage()
            if "Page" in message:
                page = message.rpartition("Page")[2].strip()
                # How many pages there will be is not known: approach the end without reaching it.
                done = int(page) if page.isdigit() else 0
                report(0.4 + 0.5 * done / (done + 40), f"Laying out page {page}")

    handler, level, passed_on = Pages(), logger.level, logger.propagate
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)
    logger.propagate = False
    try:
        yield
    finally:
        logger.removeHandler(handler)
        logger.setLevel(level)
        logger.propagate = passed_on


@contextmanager
def _no_part_missing() -> Iterator[None]:
    """Turn WeasyPrint's logged failures to load or draw a part into an error."""
    logger = logging.getLogger("weasyprint")
    failures: list[str] = []

    class Failures(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            if "Failed" in record.getMessage():
                failures.append(record.getMessage())

    handler = Failures(level=logging.ERROR)
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)
    if failures:
        raise RenderError(f"A part could not be drawn: {failures[0]}")
