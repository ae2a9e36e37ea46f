"""Image files, their fixity, and their place on a face."""

import hashlib

import pgtrigger
from django.contrib.gis.db import models as gis
from django.db import models
from django.db.models import Q
from django.urls import reverse

from records.choices import ImageKind, UncertaintyBasis
from records.imaging.originals import JPEG2000
from records.imaging.pyramid import Window, window_by_itself
from records.models.base import Record, record
from records.models.campaigns import Examination
from records.models.dates import Dated
from records.models.objects import Face, Object
from records.models.places import SRID
from records.models.sources import Source

LONG_TO_READ = 64_000_000  # pixels: about a second
READ_FROM_FILE = ("media_type", "bands", "sample_type", "metadata", "histogram")


@record(derived=["pyramid", "pyramid_progress", "pyramid_error", *READ_FROM_FILE])
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
    window_low = models.FloatField(
        null=True, blank=True, help_text="The value shown as black; empty to choose by itself"
    )
    window_high = models.FloatField(
        null=True, blank=True, help_text="The value shown as white; empty to choose by itself"
    )

    # Read from the file, and can be read again: its format; how many values a pixel has, and of
    # which type (as NumPy names it); EXIF, XMP and colour profile; how often each value occurs.
    media_type = models.CharField(max_length=40, blank=True, editable=False)
    bands = models.PositiveSmallIntegerField(null=True, editable=False)
    sample_type = models.CharField(max_length=16, blank=True, editable=False)
    metadata = models.JSONField(default=dict, editable=False)
    histogram = models.JSONField(null=True, editable=False)

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
            models.CheckConstraint(
                condition=Q(window_low__isnull=True, window_high__isnull=True)
                | Q(
                    window_low__isnull=False,
                    window_high__isnull=False,
                    window_low__lt=models.F("window_high"),
                ),
                name="records_image_window_has_a_width",
                violation_error_message="Black has to be a lower value than white.",
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

    @property
    def window(self) -> Window | None:
        """The values shown as black and white: as somebody has set them, else by themselves."""
        if self.window_low is not None and self.window_high is not None:
            return Window(self.window_low, self.window_high)
        return window_by_itself(
            self.histogram or {}, self.sample_type, self.bands or 0, "icc" in self.metadata
        )

    @property
    def format_words(self) -> str:
        """Its format and depth: 'TIFF, 16-bit grey'."""
        name = self.media_type.removeprefix("image/").replace("jp2", "JPEG 2000").upper()
        kind, bits = self.sample_type.rstrip("0123456789"), self.sample_type.lstrip("uintfloa")
        depth = {"uint": f"{bits}-bit", "int": f"{bits}-bit with sign"}.get(
            kind, f"{bits}-bit float"
        )
        colours = {1: "grey", 2: "grey with transparency", 3: "colour"}
        return f"{name}, {depth} {colours.get(self.bands or 0, f'colour in {self.bands} bands')}"

    @property
    def told_by_file(self) -> list[tuple[str, dict[str, str]]]:
        """EXIF and XMP as a page shows them."""
        named = (("EXIF", "exif"), ("XMP", "xmp"))
        return [(words, self.metadata[name]) for words, name in named if name in self.metadata]

    @property
    def takes_window(self) -> bool:
        """Whether its values may be spread for looking: greys of any depth, and deep colours."""
        return self.histogram is not None and (self.bands in (1, 2) or self.sample_type != "uint8")

    @property
    def tiles_stamp(self) -> str:
        """Changes with the file and with the window, so that no browser shows tiles of before."""
        low_high = "" if self.window_low is None else f"{self.window_low!r} {self.window_high!r}"
        seen = hashlib.sha256(low_high.encode()).hexdigest()[:8] if low_high else ""
        return self.sha256[:12] + (f"-{seen}" if seen else "")

    @property
    def tiles_address(self) -> str:
        """Where the tiles that are made now are served from, without a slash at its end."""
        stamp = self.pyramid.partition(f"/{self.pk}-")[2]
        return reverse("image-tiles", args=[self.pk, stamp or "x"])

    @property
    def kept_values(self) -> str:
        """Where, below MEDIA_ROOT, its grey values are kept smaller if it is long to read, so that
        pages need not read all of it; '' for an image that is read itself."""
        if self.media_type != JPEG2000.media_type and self.width_px * self.height_px < LONG_TO_READ:
            return ""
        return f"values/{self.pk}-{self.sha256[:12]}.tif"


# What was drawn on an image is no better placed than the image: the guard of the sighting sees to
# it (`records.models.traces`) whenever it is written, and here whenever the image is placed anew.
PASS_ON_UNCERTAINTY = """
    UPDATE records_sighting s SET uncertainty_mm = s.uncertainty_mm
    FROM records_trace t, records_image i
    WHERE t.id = s.trace_id AND t.face_id = NEW.face_id AND i.id = NEW.image_id
        AND (s.image_id = i.id OR s.examination_id = i.examination_id)
        AND s.geometry IS NOT NULL AND s.withdrawn_at IS NULL
        AND COALESCE(s.uncertainty_mm, -1) < NEW.uncertainty_mm;
    RETURN NULL;
"""


@record(
    derived=["rectified", "rectified_frame", "rectified_progress", "rectified_error"],
    triggers=[
        pgtrigger.Trigger(
            name="pass_on_uncertainty",
            when=pgtrigger.After,
            operation=pgtrigger.Insert | pgtrigger.UpdateOf("uncertainty_mm"),
            func=PASS_ON_UNCERTAINTY,
        )
    ],
)
class Placement(Record):
    """Where an image lies on a face: a pixel-to-millimetre transformation with its error.

    `matrix` is 3 × 3, row by row: (x_mm, y_mm, 1) ~ matrix · (column_px, row_px, 1), pixel rows
    counted downwards from the top. Of a thin-plate spline, which the control points determine, it
    is the affine transformation nearest to it.
    """

    image = models.ForeignKey(Image, models.PROTECT, related_name="placements")
    face = models.ForeignKey(Face, models.PROTECT, related_name="placements")
    reference = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="rests_under",
        help_text="The placed image on which the points were set; none when measured on the face",
    )
    method = models.CharField(max_length=40, default="similarity")
    matrix = models.JSONField()
    control_points = models.JSONField(
        default=list, blank=True, help_text='[{"px": [column, row], "mm": [x, y]}]'
    )
    rms_mm = models.FloatField(help_text="Root mean square of the residuals at the control points")
    uncertainty_mm = models.FloatField(
        help_text="How far what is drawn on the image may lie from its true place on the face"
    )
    uncertainty_basis = models.CharField(max_length=16, choices=UncertaintyBasis)
    fit = models.JSONField(
        default=dict, blank=True, help_text="Version of the fit, its parameters and its figures"
    )
    footprint = gis.PolygonField(srid=SRID, help_text="The image's edge on the face, in mm")

    # Worked out by the task queue: the image redrawn in the frame of the face, as IIIF tiles.
    rectified = models.CharField(max_length=200, blank=True, editable=False)
    rectified_frame = models.JSONField(null=True, editable=False)
    rectified_progress = models.PositiveSmallIntegerField(null=True, editable=False)
    rectified_error = models.TextField(blank=True, editable=False)

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["image", "face"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_placement_once_per_face",
                violation_error_message="The image is placed on this face already: change that.",
            ),
            models.CheckConstraint(
                condition=Q(rms_mm__gte=0), name="records_placement_rms_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(uncertainty_mm__gte=0),
                name="records_placement_uncertainty_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.image} on {self.face}"

    def get_absolute_url(self) -> str:
        return f"{reverse('image', args=[self.image_id])}#placement-{self.pk}"


class PointProposal(models.Model):
    """Points that the program found in an image and in one placed already; a person accepts them.

    Worked out by the task queue, never edited; asked for again, it is worked out anew.
    """

    image = models.ForeignKey(Image, models.CASCADE, related_name="proposals")
    reference = models.ForeignKey(Placement, models.CASCADE, related_name="proposals")
    progress = models.PositiveSmallIntegerField(default=0)
    points = models.JSONField(
        default=list, help_text='[{"px": [column, row], "on": [column, row]}], best first'
    )
    words = models.TextField(blank=True, help_text="What was found, or why nothing can be proposed")
    found = models.JSONField(default=dict, help_text="Method, parameters, numbers of matches")
    asked_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["image", "reference"], name="records_pointproposal_once_per_pair"
            )
        ]

    def __str__(self) -> str:
        return f"Points of {self.image} on {self.reference.image}"
