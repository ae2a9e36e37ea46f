"""Lasting marks on an object, what each look at them says, and the order observed between them."""

import pgtrigger
from django.contrib.gis.db import models as gis
from django.db import models
from django.db.models import F, Func, GeneratedField, Q
from django.db.models.functions import Length
from django.urls import reverse

from records.choices import Order, Seen, Strength
from records.models.base import Record, record, stays
from records.models.campaigns import Examination
from records.models.images import Image
from records.models.objects import Face
from records.models.places import SRID, inside_face
from records.models.vocabulary import TraceKind


@record(
    derived=["shape"],
    triggers=[stays("face_id", "A trace stays on its face: record a new trace instead.")],
)
class Trace(Record):
    """A lasting mark with a place and a lifespan; the same tear in every survey.

    `shape` is its geometry at the latest sighting that drew one, kept up to date by the database.
    """

    face = models.ForeignKey(Face, models.PROTECT, related_name="traces")
    kind = models.ForeignKey(TraceKind, models.PROTECT, related_name="traces")
    number = models.CharField(max_length=24, help_text="Its number on this face")
    label = models.CharField(max_length=200, blank=True, help_text="'tear, lower left'")
    description = models.TextField(blank=True)
    shape = gis.GeometryField(srid=SRID, null=True, editable=False)

    class Meta(Record.Meta):
        ordering = ["face", "number", "pk"]
        indexes = [
            # The order of the list beside the map: a page of it is read without sorting the face.
            models.Index("face", Length("number"), "number", "id", name="records_trace_in_order"),
        ]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["face", "number"],
                name="records_trace_number_once_per_face",
                violation_error_message="This face already has a trace of that number.",
            ),
        ]

    def __str__(self) -> str:
        return self.label or f"{self.kind} {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("trace", args=[self.pk])


# Of all standing sightings that drew the trace, the latest by date decides its present shape. Once
# a statement, so that an import of thousands works them out together.
KEEP_SHAPES = """
    UPDATE records_trace t SET shape = latest.geometry
    FROM (
        SELECT DISTINCT ON (concerned.trace_id) concerned.trace_id, s.geometry
        FROM (SELECT DISTINCT trace_id FROM changed) concerned
        LEFT JOIN records_sighting s ON s.trace_id = concerned.trace_id
            AND s.geometry IS NOT NULL AND s.withdrawn_at IS NULL
        LEFT JOIN records_examination e ON e.id = s.examination_id
        LEFT JOIN records_image i ON i.id = s.image_id
        ORDER BY concerned.trace_id,
            COALESCE(e.date_latest, i.date_latest, i.date_earliest) DESC NULLS LAST, s.id DESC
    ) latest
    WHERE t.id = latest.trace_id AND t.shape IS DISTINCT FROM latest.geometry;
    RETURN NULL;
"""


def keep_shapes(name: str, operation: pgtrigger.Operation) -> pgtrigger.Trigger:
    """Trigger: after sightings changed, work out the shape of every trace concerned."""
    return pgtrigger.Trigger(
        name=name,
        level=pgtrigger.Statement,
        when=pgtrigger.After,
        operation=operation,
        referencing=pgtrigger.Referencing(new="changed"),
        func=KEEP_SHAPES,
    )


# A shape drawn on an image, or on one of an examination that it lies on, is no better placed than
# the image is.
AS_ITS_IMAGE = """
    SELECT min(p.uncertainty_mm) INTO floor_mm
    FROM records_placement p
    JOIN records_image i ON i.id = p.image_id
    JOIN records_trace t ON t.id = NEW.trace_id
    WHERE p.face_id = t.face_id AND p.withdrawn_at IS NULL AND i.withdrawn_at IS NULL
        AND (i.id = NEW.image_id
            OR i.examination_id = NEW.examination_id AND ST_Intersects(p.footprint, NEW.geometry));
    NEW.uncertainty_mm := GREATEST(NEW.uncertainty_mm, floor_mm);
    RETURN NEW;
"""


@record(
    triggers=[
        inside_face("SELECT t.face_id FROM records_trace t WHERE t.id = NEW.trace_id"),
        pgtrigger.Trigger(
            name="uncertain_as_its_image",
            when=pgtrigger.Before,
            operation=pgtrigger.Insert
            | pgtrigger.UpdateOf("geometry", "uncertainty_mm", "image_id", "examination_id"),
            condition=pgtrigger.Condition('NEW."geometry" IS NOT NULL'),
            declare=[("floor_mm", "double precision")],
            func=AS_ITS_IMAGE,
        ),
        keep_shapes("shape_when_added", pgtrigger.Insert),
        keep_shapes("shape_when_changed", pgtrigger.Update),
        stays("trace_id", "A sighting stays with its trace: record a new sighting instead."),
    ]
)
class Sighting(Record):
    """What one examination or one image says about one trace."""

    trace = models.ForeignKey(Trace, models.PROTECT, related_name="sightings")
    examination = models.ForeignKey(
        Examination, models.PROTECT, null=True, blank=True, related_name="sightings"
    )
    image = models.ForeignKey(
        Image, models.PROTECT, null=True, blank=True, related_name="sightings"
    )
    outcome = models.CharField(max_length=8, choices=Seen, default=Seen.SEEN)
    strength = models.CharField(max_length=16, choices=Strength, default=Strength.FIRM)
    geometry = gis.GeometryField(srid=SRID, null=True, blank=True)
    uncertainty_mm = models.FloatField(
        null=True, blank=True, help_text="How far the drawn edge may be off"
    )
    note = models.TextField(blank=True)
    area_mm2 = GeneratedField(
        expression=Func("geometry", function="ST_Area"),
        output_field=models.FloatField(),
        db_persist=True,
    )
    length_mm = GeneratedField(
        expression=Func("geometry", function="ST_Length"),
        output_field=models.FloatField(),
        db_persist=True,
    )

    class Meta(Record.Meta):
        ordering = ["trace", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(examination__isnull=False, image__isnull=True)
                | Q(examination__isnull=True, image__isnull=False),
                name="records_sighting_at_one_look",
                violation_error_message="Say in which examination or on which image: one of them.",
            ),
            models.CheckConstraint(
                condition=~Q(outcome=Seen.NOT_SEEN) | Q(geometry__isnull=True),
                name="records_sighting_not_seen_has_no_shape",
                violation_error_message="What was not seen has no shape.",
            ),
            models.CheckConstraint(
                condition=Q(uncertainty_mm__isnull=True) | Q(uncertainty_mm__gte=0),
                name="records_sighting_uncertainty_not_negative",
            ),
            models.UniqueConstraint(
                fields=["trace", "examination"],
                condition=Q(withdrawn_at__isnull=True, examination__isnull=False),
                name="records_sighting_once_per_examination",
                violation_error_message="This examination already speaks of the trace.",
            ),
            models.UniqueConstraint(
                fields=["trace", "image"],
                condition=Q(withdrawn_at__isnull=True, image__isnull=False),
                name="records_sighting_once_per_image",
                violation_error_message="This image already speaks of the trace.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.trace}: {self.get_outcome_display().lower()}"

    def get_absolute_url(self) -> str:
        return f"{reverse('trace', args=[self.trace_id])}#sighting-{self.pk}"

    @property
    def look(self) -> Examination | Image | None:
        """The examination or image that the sighting was made in."""
        return self.examination or self.image


@record()
class Relation(Record):
    """An observed order between two traces: the upper is the later."""

    upper = models.ForeignKey(Trace, models.PROTECT, related_name="relations_down")
    lower = models.ForeignKey(Trace, models.PROTECT, related_name="relations_up")
    order = models.CharField(max_length=16, choices=Order, default=Order.LIES_OVER)
    strength = models.CharField(max_length=16, choices=Strength, default=Strength.FIRM)
    examination = models.ForeignKey(
        Examination, models.PROTECT, null=True, blank=True, related_name="relations"
    )
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(upper=F("lower")),
                name="records_relation_between_two",
                violation_error_message="A trace cannot lie over itself.",
            ),
            models.UniqueConstraint(
                fields=["upper", "lower", "order"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_relation_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.upper} {self.get_order_display()} {self.lower}"

    def get_absolute_url(self) -> str:
        return f"{reverse('trace', args=[self.upper_id])}#relation-{self.pk}"
