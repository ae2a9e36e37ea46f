"""The thing cared for: objects, their components, recordable faces and named zones."""

import pgtrigger
from django.contrib.gis.db import models as gis
from django.contrib.gis.geos import Polygon
from django.db import models
from django.db.models import F, Func, Q
from django.urls import reverse

from records.choices import FaceKind, ObjectKind
from records.models.base import Record, record, stays
from records.models.dates import Dated
from records.models.places import SRID, inside_face


@record()
class Object(Record, Dated):
    """One object in the department's care."""

    accession_number = models.CharField(max_length=60, unique=True)
    title = models.CharField(max_length=200)
    maker = models.CharField(max_length=200, blank=True)
    kind = models.CharField(max_length=16, choices=ObjectKind, default=ObjectKind.CANVAS)
    materials = models.CharField(
        max_length=300, blank=True, help_text="As on the label: 'oil on canvas'"
    )
    height_mm = models.FloatField(null=True, blank=True)
    width_mm = models.FloatField(null=True, blank=True)
    depth_mm = models.FloatField(null=True, blank=True)
    owner = models.CharField(max_length=200, blank=True)
    place = models.CharField(max_length=200, blank=True, help_text="Where it is now")
    construction = models.TextField(blank=True, help_text="How it is built, in words")
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["accession_number"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=(Q(height_mm__isnull=True) | Q(height_mm__gt=0))
                & (Q(width_mm__isnull=True) | Q(width_mm__gt=0))
                & (Q(depth_mm__isnull=True) | Q(depth_mm__gt=0)),
                name="records_object_measurements_positive",
                violation_error_message="Measurements are millimetres greater than zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.accession_number} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("object", args=[self.pk])

    @property
    def measurements(self) -> str:
        """Height × width (× depth) in millimetres, as on a label."""
        sizes = [s for s in (self.height_mm, self.width_mm, self.depth_mm) if s is not None]
        return (
            " × ".join(f"{s:,.0f}".replace(",", "\u202f") for s in sizes) + " mm" if sizes else ""
        )


@record()
class Component(Record):
    """A part of an object: support, stretcher, frame, board … Parts form a tree."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="components")
    parent = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="children"
    )
    name = models.CharField(max_length=120)
    materials = models.CharField(max_length=300, blank=True)
    description = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(parent=F("id")), name="records_component_not_its_own_part"
            ),
            models.UniqueConstraint(
                fields=["object", "name"], name="records_component_name_once_per_object"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return f"{reverse('object', args=[self.object_id])}#component-{self.pk}"


# The faces's frame starts at the lower left corner of the outline's bounding box; a changed outline
# must still hold everything that is recorded on the face.
OUTLINE_HOLDS_RECORDS = """
    IF EXISTS (
        SELECT 1 FROM records_zone z WHERE z.face_id = NEW.id
            AND NOT ST_CoveredBy(z.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))
        UNION ALL
        SELECT 1 FROM records_sighting s JOIN records_trace t ON t.id = s.trace_id
            WHERE t.face_id = NEW.id AND s.geometry IS NOT NULL
            AND NOT ST_CoveredBy(s.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))
        UNION ALL
        SELECT 1 FROM records_treatmentarea a WHERE a.face_id = NEW.id AND a.geometry IS NOT NULL
            AND NOT ST_CoveredBy(a.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))
        UNION ALL
        SELECT 1 FROM analyses_samplingpoint p WHERE p.face_id = NEW.id
            AND NOT ST_CoveredBy(p.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))
    ) THEN
        RAISE EXCEPTION 'The new outline leaves records outside the face.'
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
"""


@record(
    triggers=[
        pgtrigger.Trigger(
            name="outline_holds_records",
            when=pgtrigger.Before,
            operation=pgtrigger.UpdateOf("outline", "tolerance_mm"),
            func=OUTLINE_HOLDS_RECORDS,
        ),
        stays("object_id", "A face stays with its object: record a new face instead."),
    ]
)
class Face(Record):
    """One recordable side, with its outline in millimetres and its own frame.

    Origin at the lower left corner of the outline's bounding box as seen by someone looking at the
    face; x to the right, y up.
    """

    object = models.ForeignKey(Object, models.PROTECT, related_name="faces")
    component = models.ForeignKey(
        Component, models.PROTECT, null=True, blank=True, related_name="faces"
    )
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, choices=FaceKind, default=FaceKind.RECTO)
    outline = gis.PolygonField(srid=SRID, help_text="In millimetres, lower left corner at 0, 0")
    tolerance_mm = models.FloatField(
        default=5.0, help_text="How far a record may lie outside the outline"
    )
    mirror_of = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="mirrored_by"
    )
    position = models.PositiveSmallIntegerField(default=0)

    class Meta(Record.Meta):
        ordering = ["object", "position", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["object", "name"], name="records_face_name_once_per_object"
            ),
            models.CheckConstraint(
                condition=Q(outline__isvalid=True),
                name="records_face_outline_valid",
                violation_error_message="The outline crosses itself or has no area.",
            ),
            models.CheckConstraint(
                condition=Q(
                    models.lookups.Exact(
                        Func("outline", function="ST_XMin", output_field=models.FloatField()), 0.0
                    )
                )
                & Q(
                    models.lookups.Exact(
                        Func("outline", function="ST_YMin", output_field=models.FloatField()), 0.0
                    )
                ),
                name="records_face_frame_starts_at_zero",
                violation_error_message="The outline must start at 0, 0 (its lower left corner).",
            ),
            models.CheckConstraint(
                condition=Q(tolerance_mm__gte=0), name="records_face_tolerance_not_negative"
            ),
            models.CheckConstraint(
                condition=~Q(mirror_of=F("id")), name="records_face_not_its_own_mirror"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("face", args=[self.pk])

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the frame in millimetres."""
        _, _, width, height = self.outline.extent
        return width, height

    @property
    def other_side(self) -> "Face | None":
        """The face behind this one, whichever of the two names the other."""
        return self.mirror_of or getattr(self, "mirrored_by", None)

    @staticmethod
    def rectangle(width_mm: float, height_mm: float) -> Polygon:
        """A rectangular outline of that size in the face's frame."""
        return Polygon.from_bbox((0, 0, width_mm, height_mm))


@record(triggers=[inside_face("NEW.face_id")])
class Zone(Record):
    """A named part of a face that people speak of. Zones may overlap."""

    face = models.ForeignKey(Face, models.PROTECT, related_name="zones")
    name = models.CharField(max_length=120)
    geometry = gis.GeometryField(srid=SRID)
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["face", "name", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["face", "name"], name="records_zone_name_once_per_face"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("zone", args=[self.pk])
