"""One object with one record of every kind, and a signed-in browser for each role."""

from dataclasses import dataclass, field
from typing import Any

import pytest
from django.test import Client

from analyses.models import Identification, Reading
from records.choices import Family, Role
from records.models import (
    Component,
    Coverage,
    Effect,
    MaterialDate,
    Person,
    Placement,
    Relation,
    Statement,
    StatementEvent,
    TreatmentArea,
    User,
    Zone,
)
from tests import builders as make

SQUARE = "POLYGON((10 10, 60 10, 60 60, 10 60, 10 10))"


@dataclass
class World:
    """An object with one record of every kind, by the names that addresses use."""

    object: Any
    records: dict[str, Any] = field(default_factory=dict)

    def __getattr__(self, name: str) -> Any:
        try:
            return self.__dict__["records"][name]
        except KeyError as error:
            raise AttributeError(name) from error


@pytest.fixture
def world(db: None) -> World:
    item = make.canvas(maker="Ilse Tamm", place="Store 2", date="1889~")
    recto = make.face(item)
    kind = make.trace_kind()
    patch_kind = make.trace_kind("patch", Family.INTERVENTION)
    look = make.examination(item)
    loss, patch = make.trace(recto, kind), make.trace(recto, patch_kind, label="canvas patch")
    seen = make.sighting(loss, SQUARE, examination=look, uncertainty_mm=0.5)
    paper = make.source(item)
    lining = make.treatment(item)
    journey = make.occurrence(item)
    photo = make.photograph(item)
    white = make.material()
    point = make.sampling_point(recto)
    sample = make.sample(point)
    section = make.section(sample, layers=2)
    layer = section.layers.get(number=1)
    analysis = make.analysis(layer=layer)
    reading = make.recorded(Reading, analysis=analysis, kind="element", label="Ti")
    claim = make.recorded(
        Statement, object=item, source=paper, kind="dated_event", date="1951", text="Lined in 1951."
    )
    make.recorded(StatementEvent, statement=claim, treatment=lining)
    person = make.recorded(Person, name="Ada Rook")
    found = make.recorded(Identification, material=white, layer=layer, grounds="Ti in EDX")
    made = make.recorded
    square = recto.outline.clone()
    records = {
        "account": make.user(Role.COMMITTEE),
        "component": made(Component, object=item, name="stretcher"),
        "face": recto,
        "zone": made(Zone, face=recto, name="sky", geometry=SQUARE),
        "trace": loss,
        "patch": patch,
        "sighting": seen,
        "relation": made(Relation, upper=patch, lower=loss),
        "campaign": look.campaign,
        "examination": look,
        "coverage": made(Coverage, examination=look, face=recto),
        "image": photo,
        "placement": made(
            Placement,
            image=photo,
            face=recto,
            matrix=[[1, 0, 0], [0, -1, 480], [0, 0, 1]],
            control_points=[{"px": [0, 0], "mm": [0, 480]}, {"px": [800, 480], "mm": [800, 1]}],
            rms_mm=0.5,
            uncertainty_mm=0.5,
            uncertainty_basis="residuals",
            footprint=square,
        ),
        "mosaic": make.mosaic(look),
        "source": paper,
        "statement": claim,
        "treatment": lining,
        "area": made(TreatmentArea, treatment=lining, face=recto),
        "occurrence": journey,
        "effect": made(Effect, treatment=lining, trace=patch),
        "person": person,
        "trace-kind": kind,
        "treatment-kind": lining.kind,
        "occurrence-kind": journey.kind,
        "technique": look.technique,
        "material": white,
        "material-date": made(
            MaterialDate, material=white, kind="first_attested", date="1916", source="from memory"
        ),
        "sampling-point": point,
        "sample": sample,
        "preparation": section,
        "layer": layer,
        "analysis": analysis,
        "reading": reading,
        "identification": found,
    }
    return World(item, records)


def signed_in_as(role: Role) -> Client:
    client = Client()
    client.force_login(make.user(role, first_name=role.label, last_name="Tester"))
    return client


@pytest.fixture
def conservator(db: None) -> Client:
    return signed_in_as(Role.CONSERVATOR)


@pytest.fixture
def scientist(db: None) -> Client:
    return signed_in_as(Role.SCIENTIST)


@pytest.fixture
def committee(db: None) -> Client:
    return signed_in_as(Role.COMMITTEE)


@pytest.fixture
def administrator(db: None) -> User:
    return make.user(Role.ADMINISTRATOR)
