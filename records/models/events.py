"""What happened to an object: treatments, other occurrences, and what they did to its traces."""

from typing import ClassVar

from django.contrib.gis.db import models as gis
from django.db import models
from django.db.models import Q
from django.urls import reverse

from records.choices import EffectKind, Standing, Strength
from records.models.base import Record, Signable, record, signed_with
from records.models.campaigns import Campaign, Examination
from records.models.dates import Dated
from records.models.images import Image
from records.models.objects import Face, Object
from records.models.places import SRID, inside_face
from records.models.sources import Source, Statement
from records.models.traces import Trace
from records.models.users import Person
from records.models.vocabulary import Material, OccurrenceKind, TreatmentKind


@record()
class Treatment(Record, Dated, Signable):
    """An intervention on the object, documented in a source or inferred from traces alone."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="treatments")
    campaign = models.ForeignKey(
        Campaign, models.PROTECT, null=True, blank=True, related_name="treatments"
    )
    kind = models.ForeignKey(TreatmentKind, models.PROTECT, related_name="treatments")
    title = models.CharField(max_length=200)
    standing = models.CharField(max_length=16, choices=Standing, default=Standing.DOCUMENTED)
    reason = models.TextField(blank=True)
    method = models.TextField(blank=True)
    outcome = models.TextField(blank=True)
    people = models.ManyToManyField(Person, blank=True, related_name="treatments")
    sources = models.ManyToManyField(Source, blank=True, related_name="treatments")
    materials = models.ManyToManyField(Material, blank=True, related_name="treatments")

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        constraints = [*Record.Meta.constraints, *Dated.Meta.constraints]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("treatment", args=[self.pk])


@record(
    triggers=[
        inside_face("NEW.face_id"),
        signed_with("treatment_id", "records_treatment"),
    ]
)
class TreatmentArea(Record):
    """Where a treatment worked on a face; no geometry means the whole face."""

    treatment = models.ForeignKey(Treatment, models.PROTECT, related_name="areas")
    face = models.ForeignKey(Face, models.PROTECT, related_name="treatment_areas")
    geometry = gis.GeometryField(srid=SRID, null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.treatment} on {self.face}"

    def get_absolute_url(self) -> str:
        return f"{reverse('treatment', args=[self.treatment_id])}#area-{self.pk}"


@record()
class Occurrence(Record, Dated):
    """Anything else that matters in the object's life: exhibition, journey, accident, flood …"""

    object = models.ForeignKey(Object, models.PROTECT, related_name="occurrences")
    kind = models.ForeignKey(OccurrenceKind, models.PROTECT, related_name="occurrences")
    title = models.CharField(max_length=200)
    instant = models.BooleanField(default=False, help_text="It happened on one day")
    place_from = models.CharField(max_length=200, blank=True)
    place_to = models.CharField(max_length=200, blank=True, help_text="Or simply: where")
    description = models.TextField(blank=True)
    sources = models.ManyToManyField(Source, blank=True, related_name="occurrences")

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        constraints = [*Record.Meta.constraints, *Dated.Meta.constraints]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("occurrence", args=[self.pk])


@record()
class Effect(Record):
    """What a treatment or an occurrence did to a trace."""

    treatment = models.ForeignKey(
        Treatment, models.PROTECT, null=True, blank=True, related_name="effects"
    )
    occurrence = models.ForeignKey(
        Occurrence, models.PROTECT, null=True, blank=True, related_name="effects"
    )
    trace = models.ForeignKey(Trace, models.PROTECT, related_name="effects")
    kind = models.CharField(max_length=16, choices=EffectKind, default=EffectKind.PRODUCED)
    strength = models.CharField(max_length=16, choices=Strength, default=Strength.LIKELY)
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=Q(treatment__isnull=False, occurrence__isnull=True)
                | Q(treatment__isnull=True, occurrence__isnull=False),
                name="records_effect_of_one_event",
                violation_error_message="An effect belongs to one treatment or one occurrence.",
            ),
            models.UniqueConstraint(
                fields=["treatment", "occurrence", "trace", "kind"],
                condition=Q(withdrawn_at__isnull=True),
                nulls_distinct=False,
                name="records_effect_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.treatment or self.occurrence} {self.get_kind_display()} {self.trace}"

    def get_absolute_url(self) -> str:
        if self.treatment_id:
            return f"{reverse('treatment', args=[self.treatment_id])}#effect-{self.pk}"
        return f"{reverse('occurrence', args=[self.occurrence_id])}#effect-{self.pk}"


@record()
class StatementEvent(Record):
    """An event that a statement speaks of; `position` counts from 0 where order matters."""

    ARCS: ClassVar = ("treatment", "occurrence", "campaign", "examination", "image")

    statement = models.ForeignKey(Statement, models.PROTECT, related_name="events")
    position = models.PositiveSmallIntegerField(default=0)
    treatment = models.ForeignKey(
        Treatment, models.PROTECT, null=True, blank=True, related_name="+"
    )
    occurrence = models.ForeignKey(
        Occurrence, models.PROTECT, null=True, blank=True, related_name="+"
    )
    campaign = models.ForeignKey(Campaign, models.PROTECT, null=True, blank=True, related_name="+")
    examination = models.ForeignKey(
        Examination, models.PROTECT, null=True, blank=True, related_name="+"
    )
    image = models.ForeignKey(Image, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta(Record.Meta):
        ordering = ["statement", "position", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=models.lookups.Exact(
                    models.Func(
                        "treatment",
                        "occurrence",
                        "campaign",
                        "examination",
                        "image",
                        function="num_nonnulls",
                        output_field=models.IntegerField(),
                    ),
                    1,
                ),
                name="records_statementevent_names_one",
                violation_error_message="Name one event.",
            ),
            models.UniqueConstraint(
                fields=["statement", "position"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_statementevent_position_once",
            ),
        ]

    def __str__(self) -> str:
        return str(self.event)

    def get_absolute_url(self) -> str:
        return reverse("statement", args=[self.statement_id])

    @property
    def event(self) -> Treatment | Occurrence | Campaign | Examination | Image:
        """The event named, whichever kind of record it is."""
        for arc in self.ARCS:
            if getattr(self, f"{arc}_id") is not None:
                found: Treatment | Occurrence | Campaign | Examination | Image = getattr(self, arc)
                return found
        raise ValueError("A statement's event names no record.")


@record()
class StatementTrace(Record):
    """A trace that a statement speaks of."""

    statement = models.ForeignKey(Statement, models.PROTECT, related_name="traces")
    trace = models.ForeignKey(Trace, models.PROTECT, related_name="mentions")

    class Meta(Record.Meta):
        ordering = ["statement", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["statement", "trace"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_statementtrace_once",
            ),
        ]

    def __str__(self) -> str:
        return str(self.trace)

    def get_absolute_url(self) -> str:
        return reverse("statement", args=[self.statement_id])
