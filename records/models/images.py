"""Image files, their fixity, and their place on a face."""

from django.contrib.gis.db import models as gis
from django.db import models
from django.db.models import Q
from django.urls import reverse

from records.choices import ImageKind
from records.models.base import Record, record
from records.models.campaigns import Examination
from records.models.dates import Dated
from records.models.objects import Face, Object
from records.models.places import SRID
from records.models.sources import Source


@record(derived=["pyramid", "pyramid_progress", "pyramid_error"])
class Image(Record, Dated):
    """A file made in an examination, or an old photograph. The original is never altered."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="images")
    examination = models.ForeignKey(
        Examination, models.PROTECT, null=True, blank=True, related_name="images"
    )
    source = models.ForeignKey(Source, models.PROTECT, null=True, blank=True, related_name="images")
    kind = models.CharField(max_length=16, choices=ImageKind)
    title = models.CharField(max_length=200)
    file = models.FileField(upload_to="images/")
    sha256 = models.CharField(max_length=64)
    byte_size = models.PositiveBigIntegerField()
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    note = models.TextField(blank=True)

    # Worked out by the task queue: the folder of IIIF level 0 tiles, per cent done, what failed.
    pyramid = models.CharField(max_length=200, blank=True, editable=False)
    pyramid_progress = models.PositiveSmallIntegerField(null=True, editable=False)
    pyramid_error = models.TextField(blank=True, editable=False)

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=Q(sha256__regex=r"^[0-9a-f]{64}$"), name="records_image_sha256_is_hex"
            ),
            models.UniqueConstraint(
                fields=["object", "sha256"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_image_file_once_per_object",
                violation_error_message="This very file is already among the object's images.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("image", args=[self.pk])

    @property
    def dated(self) -> str:
        """Its own date, or that of the examination it was made in."""
        return self.date or (self.examination.date if self.examination else "")


@record()
class Placement(Record):
    """Where an image lies on a face: a pixel-to-millimetre transformation with its error.

    `matrix` is 3 × 3, row by row: (x_mm, y_mm, 1) ~ matrix · (column_px, row_px, 1), pixel rows
    counted downwards from the top.
    """

    image = models.ForeignKey(Image, models.PROTECT, related_name="placements")
    face = models.ForeignKey(Face, models.PROTECT, related_name="placements")
    method = models.CharField(max_length=40, default="similarity")
    matrix = models.JSONField()
    control_points = models.JSONField(
        default=list, blank=True, help_text='[{"px": [column, row], "mm": [x, y]}]'
    )
    rms_mm = models.FloatField(help_text="Root mean square of the residuals at the control points")
    footprint = gis.PolygonField(srid=SRID, help_text="The image's edge on the face, in mm")

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["image", "face"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_placement_once_per_face",
            ),
            models.CheckConstraint(
                condition=Q(rms_mm__gte=0), name="records_placement_rms_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.image} on {self.face}"

    def get_absolute_url(self) -> str:
        return f"{reverse('image', args=[self.image_id])}#placement-{self.pk}"
