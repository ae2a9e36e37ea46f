"""What was measured and what people conclude from it.

The program may propose an identification; the database accepts no decision without a person.
"""

from pathlib import PurePosixPath
from typing import Any, Self, TypeVar

from django.conf import settings
from django.db import models
from django.db.models import Func, Q
from django.db.models.lookups import Exact
from django.urls import reverse

from analyses.choices import Amount, Certainty, Confidence, Decision, ReadingKind
from analyses.models.sampling import Layer, Sample, SamplingPoint
from records.fixity import sha256
from records.models import (
    Campaign,
    Dated,
    Material,
    Object,
    Person,
    Record,
    Signable,
    Technique,
    Trace,
)
from records.models.base import RecordQuerySet, record, signed_with
from records.quantities import decimals_for, number

# What a batch says of a file, among the settings of its analysis.
FILE, READ_AS = "File", "File read as"
ONE_TARGET = Exact(
    Func("point", "sample", "layer", function="num_nonnulls", output_field=models.IntegerField()),
    1,
)


R = TypeVar("R", bound=models.Model, covariant=True)


class TargetQuerySet(RecordQuerySet[R]):
    """Analyses or identifications."""

    def of_object(self, item: Object) -> Self:
        """Those whose target goes back to a sampling point on that object."""
        return self.filter(
            Q(point__face__object=item)
            | Q(sample__point__face__object=item)
            | Q(layer__preparation__sample__point__face__object=item)
        )

    def at_point(self, point: SamplingPoint) -> Self:
        """Those of a sampling point, of its samples and of their layers."""
        return self.filter(
            Q(point=point) | Q(sample__point=point) | Q(layer__preparation__sample__point=point)
        )


class Target(models.Model):
    """Mixin: a sampling point, a sample or a layer; exactly one of them."""

    point = models.ForeignKey(
        SamplingPoint, models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )
    sample = models.ForeignKey(
        Sample, models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )
    layer = models.ForeignKey(
        Layer, models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=ONE_TARGET,
                name="%(app_label)s_%(class)s_at_one_target",
                violation_error_message="Name a sampling point, a sample or a layer: one of them.",
            )
        ]

    @property
    def target(self) -> SamplingPoint | Sample | Layer | None:
        return self.layer or self.sample or self.point

    @property
    def at_point(self) -> SamplingPoint:
        """The sampling point that the target goes back to."""
        if self.layer:
            return self.layer.preparation.sample.point
        if self.sample:
            return self.sample.point
        if self.point:
            return self.point
        raise ValueError("The record names no sampling point, sample or layer.")


@record()
class Analysis(Record, Dated, Target, Signable):
    """One technique applied once to a sampling point, sample or layer."""

    technique = models.ForeignKey(Technique, models.PROTECT, related_name="analyses")
    campaign = models.ForeignKey(
        Campaign, models.PROTECT, null=True, blank=True, related_name="analyses"
    )
    operator = models.ForeignKey(
        Person, models.PROTECT, null=True, blank=True, related_name="analyses"
    )
    instrument = models.CharField(max_length=200, blank=True)
    settings = models.JSONField(default=dict, blank=True, help_text="Named settings with units")
    raw_file = models.FileField(upload_to="raw/", blank=True)
    raw_sha256 = models.CharField(max_length=64, blank=True)
    reference_for = models.ForeignKey(
        Material,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="reference_analyses",
        help_text="The material that the curve is a reference of, in the department's collection",
    )
    note = models.TextField(blank=True)

    objects = TargetQuerySet.as_manager()  # type: ignore[misc]

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        verbose_name_plural = "analyses"
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            *Target.Meta.constraints,
            models.CheckConstraint(
                condition=Q(raw_file="") | Q(raw_sha256__regex=r"^[0-9a-f]{64}$"),
                name="analyses_analysis_raw_file_has_sha256",
            ),
            models.CheckConstraint(
                condition=Q(reference_for__isnull=True) | ~Q(raw_file=""),
                name="analyses_analysis_reference_has_raw_file",
                violation_error_message="A reference is a curve: add its raw data file.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.technique} of {self.target}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the fixity of a raw file from the moment that it arrives."""
        if self.raw_file and not getattr(self.raw_file, "_committed", True):
            self.raw_sha256 = sha256(self.raw_file)
        super().save(*args, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("analysis", args=[self.pk])

    @property
    def file_name(self) -> str:
        """What its raw file is called: as it came in a batch, else as it is kept; '' without."""
        kept = self.raw_file.name or ""
        return str(self.settings.get(FILE, "")) or PurePosixPath(kept).name if kept else ""


@record(triggers=[signed_with("analysis_id", "analyses_analysis")])
class Reading(Record):
    """What an analysis measured: an element, a peak, a phase, a band or an observation."""

    analysis = models.ForeignKey(Analysis, models.PROTECT, related_name="readings")
    kind = models.CharField(max_length=16, choices=ReadingKind)
    label = models.CharField(max_length=200, help_text="'Zn', '1730 C=O stretch', 'calcite'")
    value = models.FloatField(null=True, blank=True)
    uncertainty = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=24, blank=True)
    amount = models.CharField(max_length=8, choices=Amount, default=Amount.UNSTATED, blank=True)
    code = models.CharField(
        max_length=40,
        blank=True,
        help_text="What materials are matched by: an element's symbol, a phase, a group of bands",
    )
    certainty = models.CharField(max_length=8, choices=Certainty, blank=True)
    evaluation = models.ForeignKey(
        "analyses.Evaluation", models.PROTECT, null=True, blank=True, related_name="readings"
    )
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["analysis", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(value__isnull=True) | ~Q(unit=""),
                name="analyses_reading_value_has_unit",
                violation_error_message="A value needs its unit.",
            ),
            models.CheckConstraint(
                condition=Q(uncertainty__isnull=True) | Q(uncertainty__gte=0),
                name="analyses_reading_uncertainty_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def measured(self) -> str:
        """'1142 ± 11 counts/s', with no more digits than the uncertainty leaves; '' for none."""
        if self.value is None:
            return ""
        if not self.uncertainty:
            return f"{self.value:g} {self.unit}"
        digits = decimals_for(self.uncertainty)
        value, spread = (number(part, digits) for part in (self.value, self.uncertainty))
        return f"{value} ± {spread} {self.unit}"

    def get_absolute_url(self) -> str:
        return f"{reverse('analysis', args=[self.analysis_id])}#reading-{self.pk}"


@record()
class Identification(Record, Target, Signable):
    """A conclusion that a material is present; accepted or rejected by a person only."""

    material = models.ForeignKey(Material, models.PROTECT, related_name="identifications")
    trace = models.ForeignKey(
        Trace,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="identifications",
        help_text="The trace that the material belongs to; a layer tied to a trace says so itself",
    )
    confidence = models.CharField(max_length=16, choices=Confidence, default=Confidence.PROBABLE)
    decision = models.CharField(max_length=16, choices=Decision, default=Decision.PROPOSED)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_at = models.DateTimeField(null=True, blank=True)
    grounds = models.TextField(help_text="What speaks for it and what against")
    readings = models.ManyToManyField(Reading, blank=True, related_name="identifications")

    objects = TargetQuerySet.as_manager()  # type: ignore[misc]

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            *Target.Meta.constraints,
            models.CheckConstraint(
                condition=Q(decision=Decision.PROPOSED)
                | Q(decided_by__isnull=False, decided_at__isnull=False),
                name="analyses_identification_decided_by_a_person",
                violation_error_message="Only a person accepts or rejects: say who and when.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.material} in {self.target}"

    def get_absolute_url(self) -> str:
        return reverse("identification", args=[self.pk])
