"""A small object with something in every section of a dossier, and true image files."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import pyvips
from django.core.files.base import ContentFile
from pytest_django.fixtures import Settings

from analyses.choices import Confidence, Decision
from analyses.models import Identification, Layer, Reading
from records.changes import change
from records.choices import Family, ImageKind, Role, Seen, Standing, StatementKind
from records.fixity import sha256
from records.models import (
    Component,
    Effect,
    Face,
    Image,
    Object,
    Placement,
    SetAside,
    Statement,
    StatementEvent,
    Technique,
    Trace,
    TreatmentArea,
    User,
    Zone,
)
from tests import builders
from tests.builders import recorded


@dataclass
class Small:
    """The small object and what tests ask about."""

    object: Object
    recto: Face
    verso: Face
    traces: dict[str, Trace]
    conservator: User
    committee: User
    picture: Image


def picture_file(width: int, height: int) -> bytes:
    """A JPEG with light and dark parts."""
    grid = pyvips.Image.xyz(width, height)
    light = (grid[0] * (200.0 / width) + grid[1] * (40.0 / height)).cast("uchar")
    made: bytes = light.bandjoin([light, 255 - light]).copy(interpretation="srgb").jpegsave_buffer()
    return made


def image(item: Object, content: bytes, **fields: Any) -> Image:
    file = ContentFile(content, name="picture.jpg")
    width, height = fields.pop("size")
    made: Image = recorded(
        Image,
        object=item,
        file=file,
        sha256=sha256(file),
        byte_size=len(content),
        width_px=width,
        height_px=height,
        **fields,
    )
    return made


def box(left: float, bottom: float, right: float, top: float) -> str:
    return (
        f"POLYGON(({left} {bottom}, {right} {bottom}, {right} {top}, {left} {top},"
        f" {left} {bottom}))"
    )


def small_object(accession_number: str = "T.1") -> Small:
    """One canvas, 1000 × 600 mm, with something of everything."""
    conservator = builders.user(Role.CONSERVATOR, first_name="Ada", last_name="Brook")
    item = builders.canvas(
        accession_number=accession_number,
        maker="Unknown painter",
        date="1911~",
        materials="oil on canvas",
        width_mm=1000,
        height_mm=600,
        owner="The department's own",
        place="Store 2",
        construction="One width of linen on a stretcher with a crossbar.",
    )
    support = recorded(Component, object=item, name="Canvas", materials="linen, plain weave")
    recorded(Component, object=item, name="Tacking margin", parent=support)
    recto = builders.face(item, component=support)
    verso = builders.face(item, name="verso", kind="verso", mirror_of=recto, position=1)
    recorded(Zone, face=recto, name="Sky", geometry=box(0, 300, 1000, 600))
    recorded(Zone, face=recto, name="Left half", geometry=box(0, 0, 500, 600))

    campaign = builders.campaign(item, title="Condition survey of 2019", date="2019-05")
    visible = builders.examination(
        item,
        campaign=campaign,
        technique=builders.term(Technique, "visible_light", group="imaging"),
        not_covered="The tacking margins, hidden by the frame",
    )
    uv = builders.term(Technique, "uv_fluorescence", group="imaging")
    builders.examination(item, campaign=campaign, technique=uv, date="2019-05-15")
    content = picture_file(1200, 720)
    picture = image(
        item,
        content,
        size=(1200, 720),
        kind=ImageKind.TECHNICAL,
        title="Recto, visible light",
        examination=visible,
        date="2019-05-14",
    )
    per_px = 1000 / 1200
    recorded(
        Placement,
        image=picture,
        face=recto,
        matrix=[[per_px, 0, 0], [0, -per_px, 600], [0, 0, 1]],
        rms_mm=0.4,
        uncertainty_mm=0.4,
        uncertainty_basis="residuals",
        footprint=box(0, 0, 1000, 600),
    )
    negative = image(
        item,
        picture_file(600, 360),
        size=(600, 360),
        kind=ImageKind.HISTORICAL,
        title="Glass negative",
        date="1931-06~",
    )

    loss = builders.trace_kind("loss", short="LOS")
    crack = builders.trace_kind("crack", short="CRK", shape="line")
    mould = builders.trace_kind("mould", short="MOU")
    pest = builders.trace_kind("exit-hole", short="HOL", shape="point")
    retouching = builders.trace_kind("retouching", Family.INTERVENTION, short="RET")
    patch = builders.trace_kind("patch", Family.INTERVENTION, short="PAT")
    drawing = builders.trace_kind("underdrawing", Family.MAKING, short="UDR", shape="line")
    drawn = {
        "loss": (recto, loss, box(100, 250, 200, 350), Seen.SEEN, "loss at the horizon"),
        "second loss": (recto, loss, box(150, 250, 250, 350), Seen.SEEN, "loss beside it"),
        "unsure loss": (recto, loss, box(700, 400, 760, 440), Seen.UNCLEAR, ""),
        "crack": (recto, crack, "LINESTRING(300 100, 300 500)", Seen.SEEN, ""),
        "mould": (recto, mould, box(600, 50, 700, 120), Seen.SEEN, ""),
        "hole": (recto, pest, "POINT(820 90)", Seen.SEEN, ""),
        "retouching": (recto, retouching, box(90, 240, 210, 360), Seen.SEEN, ""),
        "drawing": (recto, drawing, "LINESTRING(400 200, 600 260, 650 200)", Seen.SEEN, ""),
        "patch": (verso, patch, box(780, 230, 920, 370), Seen.SEEN, "canvas patch"),
    }
    traces = {}
    for number, (key, (face, kind, shape, outcome, label)) in enumerate(drawn.items(), start=1):
        traces[key] = builders.trace(face, kind, number=str(number), label=label)
        builders.sighting(
            traces[key], shape, examination=visible, outcome=outcome, uncertainty_mm=0.5
        )
    traces["gone"] = builders.trace(recto, loss, number="99", label="loss, since filled")
    builders.sighting(traces["gone"], box(500, 500, 520, 520), image=negative)
    builders.sighting(traces["gone"], examination=visible, outcome=Seen.NOT_SEEN)
    builders.sighting(traces["loss"], image=negative, outcome=Seen.NOT_SEEN)

    lining = builders.treatment(item, reason="A tear had opened.", outcome="Flat and firm.")
    recorded(TreatmentArea, treatment=lining, face=verso)
    recorded(Effect, treatment=lining, trace=traces["patch"])
    builders.treatment(
        item, title="Retouching campaign", standing=Standing.INFERRED, date="1951/1970"
    )
    show = builders.occurrence(item, place_from="Store 1", place_to="North gallery")
    letter = builders.source(item, extract="“relined before the spring show”")
    statement = recorded(
        Statement,
        object=item,
        source=letter,
        kind=StatementKind.PRECEDES,
        text="The lining came before the spring exhibition.",
    )
    recorded(StatementEvent, statement=statement, position=0, treatment=lining)
    recorded(StatementEvent, statement=statement, position=1, occurrence=show)

    point = builders.sampling_point(
        recto, 150, 300, number="P1", invasive=True, permission="Head of collections", date="2019"
    )
    second = builders.sampling_point(recto, 620, 80, number="P2", date="2019")
    builders.analysis("xrf", point=second, date="2019-06")
    sample = builders.sample(point, number="S1", kept_at="Laboratory, drawer 4")
    section = builders.section(sample, number="S1-a")
    layers = [
        recorded(
            Layer,
            preparation=section,
            number=number,
            description=words,
            thickness_min_um=least,
            thickness_max_um=most,
            colour_hex=colour,
            fluorescence=glow,
        )
        for number, words, least, most, colour, glow in (
            (1, "ground", 60, 90, "#d8d2c0", "bluish white"),
            (2, "blue paint", 20, 35, "#39597d", "dark"),
            (3, "varnish", 3, 8, "#b8a25a", "greenish"),
        )
    ]
    lead = builders.material("lead-white", elements=["Pb", "C", "O"], hazards=["H302", "H360Df"])
    titanium = builders.material("titanium-white", elements=["Ti", "O"])
    analysis = builders.analysis("sem_edx", layer=layers[0], date="2019-09")
    reading = recorded(Reading, analysis=analysis, kind="element", label="Pb", amount="major")
    accepted = recorded(
        Identification,
        material=lead,
        layer=layers[0],
        confidence=Confidence.CERTAIN,
        decision=Decision.ACCEPTED,
        decided_by=conservator,
        decided_at="2019-10-01T10:00:00Z",
        grounds="Lead throughout the layer.",
    )
    with change(user=None, why="for a test"):
        accepted.readings.add(reading)
    recorded(Identification, material=titanium, layer=layers[1], grounds="Titanium, weak.")
    recorded(
        SetAside,
        object=item,
        item=f"statement-{statement.pk}",
        why="The letter confuses two paintings.",
        by=conservator,
    )
    return Small(
        item,
        recto,
        verso,
        traces,
        conservator,
        builders.user(Role.COMMITTEE, first_name="Kim", last_name="Lane"),
        picture,
    )


@pytest.fixture
def media(settings: Settings) -> Path:
    """The folder that holds the files of this test."""
    return Path(settings.MEDIA_ROOT)


@pytest.fixture
def small(db: None) -> Small:
    return small_object()
