"""What an examination covered of each face and what it left out, worked out in the database."""

from dataclasses import dataclass, field
from typing import Any

from django.contrib.gis.db.models import GeometryField
from django.db.models import F, Func, Prefetch, TextField, Value
from django.db.models.functions import Coalesce

from records.models import Coverage, Examination, Face, Zone
from records.models.places import SRID
from records.spatial import AreaMm2


@dataclass(frozen=True, slots=True)
class CoveredFace:
    """A face with what was covered of it; shapes are SVG paths in mm, y downwards."""

    face: Face
    coverage: Coverage
    face_mm2: float
    covered_mm2: float
    left_mm2: float
    outline: str
    left: str
    zones: list[str] = field(default_factory=list)

    @property
    def is_whole(self) -> bool:
        return self.left_mm2 <= 1e-6 * self.face_mm2

    @property
    def size_mm(self) -> tuple[float, float]:
        return self.face.size_mm


def covered_faces(examination: Examination) -> list[CoveredFace]:
    """The faces that an examination covered, in part or whole; two queries.

    What was left out is the face's outline without the shape covered. Something drawn beyond the
    outline, within the face's tolerance, counts for nothing.
    """
    shape = Coalesce("geometry", "face__outline", output_field=GeometryField(srid=SRID))
    outline = F("face__outline")
    left = Func(outline, shape, function="ST_Difference", output_field=GeometryField(srid=SRID))
    inside = Func(outline, shape, function="ST_Intersection", output_field=GeometryField(srid=SRID))
    zones = Zone.objects.filter(withdrawn_at__isnull=True).annotate(path=_path(F("geometry")))
    found: Any = (
        examination.coverage.filter(withdrawn_at__isnull=True)
        .select_related("face")
        .prefetch_related(Prefetch("face__zones", zones, to_attr="drawn_zones"))
        .annotate(
            face_mm2=AreaMm2(outline),
            covered_mm2=AreaMm2(inside),
            left_mm2=AreaMm2(left),
            outline_path=_path(outline),
            left_path=_path(left),
        )
        .order_by("face__position", "face", "pk")
    )
    return [
        CoveredFace(
            face=one.face,
            coverage=one,
            face_mm2=one.face_mm2,
            covered_mm2=one.covered_mm2,
            left_mm2=one.left_mm2,
            outline=one.outline_path,
            left=one.left_path or "",
            zones=[zone.path for zone in one.face.drawn_zones],
        )
        for one in found
    ]


def faces_not_told(examination: Examination) -> list[Face]:
    """The object's faces of which it is not recorded that any of them was covered."""
    told = examination.coverage.filter(withdrawn_at__isnull=True).values("face")
    faces = Face.objects.filter(
        object_id=examination.campaign.object_id, withdrawn_at__isnull=True
    ).exclude(pk__in=told)
    return list(faces.defer("outline"))


def _path(shape: Any) -> Func:
    """A shape as SVG path data, y downwards, to a tenth of a millimetre."""
    return Func(shape, Value(0), Value(1), function="ST_AsSVG", output_field=TextField())
