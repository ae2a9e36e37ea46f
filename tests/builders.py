"""Small true records to test with: one canvas with a recto and a verso, kinds, people, looks.

Each function makes one record with what it needs and lets any field be given.
"""

from itertools import count
from typing import Any

from django.contrib.gis.geos import GEOSGeometry, Point

from analyses.models import Analysis, Layer, Preparation, Sample, SamplingPoint
from records.changes import change
from records.choices import CampaignPurpose, Family, ImageKind, Role, Seen, Shape, SourceKind
from records.models import (
    Campaign,
    Examination,
    Face,
    Image,
    Material,
    Mosaic,
    Object,
    Occurrence,
    OccurrenceKind,
    Sighting,
    Source,
    Technique,
    Trace,
    TraceKind,
    Treatment,
    TreatmentKind,
    User,
)

_numbers = count(1)


def next_number() -> int:
    """A number not used before in this run."""
    return next(_numbers)


def recorded(model: type[Any], **fields: Any) -> Any:
    """Create a record of any model with a stated reason."""
    with change(user=None, why="for a test"):
        return model.objects.create(**fields)


def user(role: Role, **fields: Any) -> User:
    name = fields.pop("username", f"{role.value}{next_number()}")
    return User.objects.create_user(name, password="correct horse", role=role, **fields)


def canvas(**fields: Any) -> Object:
    given = {"accession_number": f"T.{next_number()}", "title": "The Ferry at Low Water", **fields}
    item: Object = recorded(Object, **given)
    return item


def face(
    item: Object | None = None, width: float = 1000, height: float = 600, **fields: Any
) -> Face:
    given = {"name": "recto", "outline": Face.rectangle(width, height), **fields}
    made: Face = recorded(Face, object=item or canvas(), **given)
    return made


def trace_kind(code: str = "loss", family: Family = Family.ALTERATION, **fields: Any) -> TraceKind:
    found: TraceKind | None = TraceKind.objects.filter(code=code).first()
    if found:
        return found
    given = {
        "label": code.replace("-", " "),
        "definition": f"A {code} made for a test.",
        "shape": Shape.POLYGON,
        "short": f"t{next_number() % 1000}",
        **fields,
    }
    made: TraceKind = recorded(TraceKind, code=code, family=family, **given)
    return made


def term(model: type[Any], code: str, **fields: Any) -> Any:
    found = model.objects.filter(code=code).first()
    label = code.replace("-", " ")
    return found or recorded(
        model, code=code, label=label, definition=f"{label}, made for a test.", **fields
    )


def trace(on: Face | None = None, kind: TraceKind | None = None, **fields: Any) -> Trace:
    given = {"number": str(next_number()), **fields}
    made: Trace = recorded(Trace, face=on or face(), kind=kind or trace_kind(), **given)
    return made


def campaign(item: Object, **fields: Any) -> Campaign:
    given = {"title": "Survey", "purpose": CampaignPurpose.SURVEY, "date": "2019-05", **fields}
    made: Campaign = recorded(Campaign, object=item, **given)
    return made


def examination(item: Object, **fields: Any) -> Examination:
    given = {
        "campaign": fields.pop("campaign", None) or campaign(item),
        "technique": term(Technique, "visible-light", group="imaging"),
        "date": "2019-05-14",
        **fields,
    }
    made: Examination = recorded(Examination, **given)
    return made


def photograph(item: Object, date: str = "1931-06~", **fields: Any) -> Image:
    number = next_number()
    given = {
        "kind": ImageKind.HISTORICAL,
        "title": "Glass negative",
        "file": f"images/test-{number}.jpg",
        "sha256": f"{number:064x}",
        "byte_size": 1000,
        "width_px": 800,
        "height_px": 480,
        **fields,
    }
    made: Image = recorded(Image, object=item, date=date, **given)
    return made


def mosaic(look: Examination, **fields: Any) -> Mosaic:
    given = {
        "title": "Whole recto",
        "rows": 3,
        "columns": 4,
        "overlap_across": 30,
        "overlap_down": 30,
        **fields,
    }
    made: Mosaic = recorded(Mosaic, examination=look, **given)
    return made


def sighting(of: Trace, shape: GEOSGeometry | str | None = None, **fields: Any) -> Sighting:
    if isinstance(shape, str):
        shape = GEOSGeometry(shape, srid=0)
    if not fields.keys() & {"examination", "image"}:
        fields["examination"] = examination(of.face.object)
    given = {"outcome": Seen.SEEN, "geometry": shape, **fields}
    made: Sighting = recorded(Sighting, trace=of, **given)
    return made


def source(item: Object, **fields: Any) -> Source:
    given = {"title": "Letter of the owner", "kind": SourceKind.LETTER, "date": "1952", **fields}
    made: Source = recorded(Source, object=item, **given)
    return made


def treatment(item: Object, **fields: Any) -> Treatment:
    given = {
        "kind": term(TreatmentKind, "lining"),
        "title": "Glue-paste lining",
        "date": "1951-03/1952",
        **fields,
    }
    made: Treatment = recorded(Treatment, object=item, **given)
    return made


def occurrence(item: Object, **fields: Any) -> Occurrence:
    given = {
        "kind": term(OccurrenceKind, "exhibition"),
        "title": "Spring exhibition",
        "date": "1924",
        **fields,
    }
    made: Occurrence = recorded(Occurrence, object=item, **given)
    return made


def material(code: str = "titanium-white", **fields: Any) -> Material:
    found: Material = term(Material, code, **{"group": "pigment", **fields})
    return found


def sampling_point(on: Face, x: float = 100, y: float = 100, **fields: Any) -> SamplingPoint:
    given = {"number": f"P{next_number()}", "geometry": Point(x, y, srid=0), **fields}
    made: SamplingPoint = recorded(SamplingPoint, face=on, **given)
    return made


def sample(at: SamplingPoint, **fields: Any) -> Sample:
    made: Sample = recorded(Sample, point=at, **{"number": f"S{next_number()}", **fields})
    return made


def section(of: Sample, layers: int = 0, **fields: Any) -> Preparation:
    given = {"kind": "cross_section", "number": f"C{next_number()}", **fields}
    made: Preparation = recorded(Preparation, sample=of, **given)
    for number in range(1, layers + 1):
        recorded(Layer, preparation=made, number=number, description=f"layer {number}")
    return made


def analysis(technique: str = "xrf", **fields: Any) -> Analysis:
    given = {"technique": term(Technique, technique, group="analysis"), **fields}
    made: Analysis = recorded(Analysis, **given)
    return made
