"""Where samples and readings come from: sampling points, samples, preparations and layers."""

from django.contrib.gis.db import models as gis
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q, Value
from django.urls import reverse

from analyses.choices import THICKEST_UM, UNLAYERED, PreparationKind
from records.models import Campaign, Dated, Face, Image, Object, Person, Record, Trace
from records.models.base import record, stays
from records.models.places import SRID, inside_face


@record(
    triggers=[
        inside_face("NEW.face_id"),
        stays("face_id", "A sampling point stays on its face: record a new one instead."),
    ]
)
class SamplingPoint(Record, Dated):
    """A place where a sample was taken or a non-invasive reading was made."""

    face = models.ForeignKey(Face, models.PROTECT, related_name="sampling_points")
    number = models.CharField(max_length=24)
    geometry = gis.PointField(srid=SRID)
    invasive = models.BooleanField(default=False, help_text="Material was removed")
    permission = models.CharField(
        max_length=200, blank=True, help_text="Who allowed it, and under which reference"
    )
    purpose = models.TextField(blank=True, help_text="The question that it was to answer")
    campaign = models.ForeignKey(
        Campaign, models.PROTECT, null=True, blank=True, related_name="sampling_points"
    )
    taken_by = models.ForeignKey(
        Person, models.PROTECT, null=True, blank=True, related_name="sampling_points"
    )
    trace = models.ForeignKey(
        Trace, models.PROTECT, null=True, blank=True, related_name="sampling_points"
    )
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["face", "number", "pk"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.UniqueConstraint(
                fields=["face", "number"],
                name="analyses_samplingpoint_number_once_per_face",
                violation_error_message="This face already has a sampling point of that number.",
            ),
            models.CheckConstraint(
                condition=Q(invasive=False) | ~Q(permission=""),
                name="analyses_samplingpoint_invasive_needs_permission",
                violation_error_message="Say who allowed material to be removed.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("sampling-point", args=[self.pk])


@record()
class Sample(Record):
    """The material taken at a sampling point."""

    point = models.ForeignKey(SamplingPoint, models.PROTECT, related_name="samples")
    number = models.CharField(max_length=40, unique=True)
    container = models.CharField(max_length=120, blank=True)
    amount = models.CharField(max_length=120, blank=True, help_text="Size or mass when taken")
    remains = models.CharField(max_length=200, blank=True, help_text="What is left of it")
    kept_at = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["number"]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("sample", args=[self.pk])


@record()
class Preparation(Record):
    """What was made of a sample: a cross-section, a thin section, a powder mount."""

    sample = models.ForeignKey(Sample, models.PROTECT, related_name="preparations")
    kind = models.CharField(max_length=16, choices=PreparationKind)
    number = models.CharField(max_length=40, unique=True)
    medium = models.CharField(max_length=120, blank=True, help_text="Embedding or mounting medium")
    image = models.ForeignKey(
        Image, models.PROTECT, null=True, blank=True, related_name="preparations"
    )
    um_per_px = models.FloatField(null=True, blank=True, help_text="Scale of the image, µm per px")
    scale = models.JSONField(
        default=dict,
        blank=True,
        help_text='{"points": [[column, row], [column, row]], "length_um": 100}; empty: typed',
    )
    boundaries = models.JSONField(
        default=list,
        blank=True,
        help_text="Lines [[column, row], …] over the image from the bottom up, the lowest edge "
        "first: layer 1 lies between the first and the second",
    )
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["number"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(um_per_px__isnull=True) | Q(um_per_px__gt=0),
                name="analyses_preparation_scale_is_positive",
                violation_error_message="A pixel is some µm wide: the scale is more than 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("preparation", args=[self.pk])

    @property
    def is_layered(self) -> bool:
        """Whether strata can be seen in it."""
        return self.kind not in UNLAYERED


def _thickness(name: str) -> Q:
    return Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__range": (0, THICKEST_UM)})


@record()
class Layer(Record):
    """One stratum of a cross-section, counted from the bottom up."""

    preparation = models.ForeignKey(Preparation, models.PROTECT, related_name="layers")
    number = models.PositiveSmallIntegerField(help_text="1 is the lowest")
    description = models.CharField(max_length=200)
    thickness_min_um = models.FloatField(null=True, blank=True)
    thickness_max_um = models.FloatField(null=True, blank=True)
    thickness_mean_um = models.FloatField(
        null=True, blank=True, help_text="Mean of what was measured between the boundaries"
    )
    colour = models.CharField(max_length=80, blank=True)
    colour_hex = models.CharField(max_length=7, blank=True, help_text="For drawings: #rrggbb")
    colour_lab = ArrayField(
        models.FloatField(),
        size=3,
        null=True,
        blank=True,
        help_text="CIELAB (D65, 2°) of the median inside the layer, measured on the image",
    )
    munsell = models.CharField(max_length=24, blank=True, help_text="By eye: 2.5YR 5/6, N 7")
    fluorescence = models.CharField(max_length=120, blank=True)
    particles = models.TextField(blank=True)
    interpretation = models.TextField(blank=True, help_text="What the layer is taken for, and why")
    trace = models.ForeignKey(Trace, models.PROTECT, null=True, blank=True, related_name="layers")

    class Meta(Record.Meta):
        ordering = ["preparation", "number"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["preparation", "number"],
                condition=Q(withdrawn_at__isnull=True),
                name="analyses_layer_number_once_per_section",
                violation_error_message="This section has a layer of that number already.",
            ),
            models.CheckConstraint(
                condition=Q(number__gte=1),
                name="analyses_layer_counts_from_1",
                violation_error_message="Layers are counted from 1, the lowest.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(thickness_min_um__isnull=True)
                    | Q(thickness_max_um__isnull=True)
                    | Q(thickness_min_um__lte=F("thickness_max_um"))
                ),
                name="analyses_layer_thickness_in_order",
                violation_error_message="Thickness runs from the least to the most, in µm.",
            ),
            models.CheckConstraint(
                condition=_thickness("thickness_min_um") & _thickness("thickness_max_um"),
                name="analyses_layer_thickness_is_possible",
                violation_error_message="A layer is from 0 to 100,000 µm (10 cm) thick.",
            ),
            models.CheckConstraint(
                condition=Q(colour_hex="") | Q(colour_hex__regex=r"^#[0-9a-fA-F]{6}$"),
                name="analyses_layer_colour_is_hex",
                violation_error_message="A colour for drawings is written #rrggbb.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.preparation} layer {self.number}: {self.description}"

    def get_absolute_url(self) -> str:
        return reverse("layer", args=[self.pk])


@record()
class NumberingRule(Record):
    """How sampling points, samples and preparations are numbered: of one object, or of all others.

    What the signs mean stands in `analyses.numbering`.
    """

    object = models.OneToOneField(
        Object,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="numbering_rule",
        help_text="Empty: the department's rule, for every object that has none of its own",
    )
    points = models.CharField(max_length=24, default="P#")
    samples = models.CharField(max_length=40, default="{object}-{point}")
    preparations = models.CharField(max_length=40, default="{object}-X#")

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                Value(1),
                condition=Q(object__isnull=True),
                name="analyses_numberingrule_one_for_the_department",
                violation_error_message="The department has its rule already: change that one.",
            ),
        ]

    def __str__(self) -> str:
        if self.object is None:
            return "Numbering in the department"
        return f"Numbering of {self.object.accession_number}"

    def get_absolute_url(self) -> str:
        if self.object_id is None:
            return reverse("numbering")
        return reverse("numbering-edit", args=[self.object_id])
