"""Mosaics: one image made of many overlapping frames of an examination, and the work on the way."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from records.choices import FrameRole, Freedom, Lens, MosaicLayout, MosaicStage, TakingOrder
from records.models.base import Record, record
from records.models.campaigns import Examination
from records.models.images import Image


@record(derived=["stage", "error", "report", "result"])
class Mosaic(Record):
    """How frames are laid, corrected and joined; what came of it is worked out by the task queue.

    Radial distortion is given in the form of Brown: the true radius is r · (1 + k1 r² + k2 r⁴),
    r being measured from the middle of the frame in half diagonals.
    """

    examination = models.ForeignKey(Examination, models.PROTECT, related_name="mosaics")
    title = models.CharField(max_length=200)
    layout = models.CharField(
        max_length=10, choices=MosaicLayout, default=MosaicLayout.GRID, help_text="Where frames lie"
    )
    rows = models.PositiveSmallIntegerField(null=True, blank=True)
    columns = models.PositiveSmallIntegerField(null=True, blank=True)
    order = models.CharField(max_length=10, choices=TakingOrder, default=TakingOrder.ROWS)
    overlap_across = models.FloatField("overlap side by side (%)", null=True, blank=True)
    overlap_down = models.FloatField("overlap one below the other (%)", null=True, blank=True)
    pixel_mm = models.FloatField("size of a pixel (mm)", null=True, blank=True)
    freedom = models.CharField(max_length=10, choices=Freedom, default=Freedom.TURN)
    lens = models.CharField(max_length=10, choices=Lens, default=Lens.NONE)
    k1 = models.FloatField(null=True, blank=True)
    k2 = models.FloatField(null=True, blank=True)
    even_exposure = models.BooleanField(default=True)
    even_falloff = models.BooleanField("also even the falloff towards the edges", default=False)
    note = models.TextField(blank=True)

    # Worked out by the task queue.
    stage = models.CharField(
        max_length=10, choices=MosaicStage, default=MosaicStage.NEW, editable=False
    )
    error = models.TextField(blank=True, editable=False)
    report = models.JSONField(null=True, editable=False)
    result = models.ForeignKey(
        Image, models.PROTECT, null=True, editable=False, related_name="made_as_mosaic"
    )

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(layout=MosaicLayout.GRID)
                | Q(
                    rows__gte=1,
                    columns__gte=1,
                    overlap_across__gt=0,
                    overlap_across__lt=100,
                    overlap_down__gt=0,
                    overlap_down__lt=100,
                ),
                name="records_mosaic_grid_is_told",
                violation_error_message="A grid needs its rows, columns and both overlaps, these "
                "between 0 and 100 %.",
            ),
            models.CheckConstraint(
                condition=~Q(layout=MosaicLayout.STAGE_MM) | Q(pixel_mm__isnull=False),
                name="records_mosaic_millimetres_need_pixel",
                violation_error_message="Positions in millimetres need the size of a pixel.",
            ),
            models.CheckConstraint(
                condition=Q(pixel_mm__isnull=True) | Q(pixel_mm__gt=0),
                name="records_mosaic_pixel_positive",
                violation_error_message="The size of a pixel is more than 0 mm.",
            ),
            models.CheckConstraint(
                condition=~Q(lens=Lens.GIVEN) | Q(k1__isnull=False),
                name="records_mosaic_lens_is_told",
                violation_error_message="A lens that is given needs k1.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("mosaic", args=[self.pk])


@record(derived=["place", "unplaced_why"])
class MosaicFrame(Record):
    """One exposure of a mosaic: an image of the examination, or a file kept for the mosaic alone.

    Withdrawing a frame leaves it out of the mosaic.
    """

    mosaic = models.ForeignKey(Mosaic, models.PROTECT, related_name="frames")
    role = models.CharField(max_length=10, choices=FrameRole, default=FrameRole.FRAME)
    number = models.PositiveIntegerField(help_text="In the order in which the frames were taken")
    name = models.CharField(max_length=200)
    image = models.ForeignKey(
        Image, models.PROTECT, null=True, blank=True, related_name="mosaic_frames"
    )
    file = models.FileField(upload_to="frames/", blank=True)
    sha256 = models.CharField(max_length=64)
    stage_x = models.FloatField(null=True, blank=True)
    stage_y = models.FloatField(null=True, blank=True)

    # Worked out by the task queue: where it lies in the mosaic, or why nowhere.
    place = models.JSONField(null=True, editable=False)
    unplaced_why = models.TextField(blank=True, editable=False)

    class Meta(Record.Meta):
        ordering = ["mosaic", "role", "number"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["mosaic", "role", "number"], name="records_mosaicframe_number_once"
            ),
            models.CheckConstraint(
                condition=Q(image__isnull=False, file="") | (Q(image__isnull=True) & ~Q(file="")),
                name="records_mosaicframe_image_or_file",
                violation_error_message="A frame is an image of the examination or a file.",
            ),
            models.CheckConstraint(
                condition=Q(stage_x__isnull=True, stage_y__isnull=True)
                | Q(stage_x__isnull=False, stage_y__isnull=False),
                name="records_mosaicframe_both_coordinates",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return f"{reverse('mosaic', args=[self.mosaic_id])}#frame-{self.number}"


class MosaicStep(models.Model):
    """One small task of a mosaic, and what came of it; computed, never edited.

    `key` is the hash of everything that the result depends on: work that is asked for again with
    the same key is not done again, by whatever worker and after whatever interruption.
    """

    mosaic = models.ForeignKey(Mosaic, models.PROTECT, related_name="steps")
    stage = models.CharField(max_length=10, choices=MosaicStage)
    key = models.CharField(max_length=64)
    number = models.PositiveIntegerField()
    inputs = models.JSONField()
    result = models.JSONField(null=True)
    done_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["mosaic", "stage", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["mosaic", "stage", "key"], name="records_mosaicstep_once"
            ),
        ]
        indexes = [
            models.Index(
                F("mosaic"), F("stage"), name="records_step_open", condition=Q(done_at__isnull=True)
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_stage_display()}, step {self.number + 1}"
