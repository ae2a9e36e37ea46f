"""Planned work: campaigns, the examinations within them, and what each covered."""

from django.contrib.gis.db import models as gis
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from records.choices import CampaignPurpose
from records.models.base import Record, Signable, record, signed_with
from records.models.dates import Dated
from records.models.objects import Face, Object
from records.models.places import SRID, inside_face
from records.models.users import Person
from records.models.vocabulary import Technique


@record()
class Campaign(Record, Dated):
    """A planned piece of work with a purpose, people and dates; may be a phase of another."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="campaigns")
    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="phases")
    title = models.CharField(max_length=200)
    purpose = models.CharField(max_length=16, choices=CampaignPurpose)
    people = models.ManyToManyField(Person, blank=True, related_name="campaigns")
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(parent=F("id")), name="records_campaign_not_its_own_phase"
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("campaign", args=[self.pk])


@record()
class Examination(Record, Dated, Signable):
    """One technique applied once within a campaign, with its information sheet."""

    campaign = models.ForeignKey(Campaign, models.PROTECT, related_name="examinations")
    technique = models.ForeignKey(Technique, models.PROTECT, related_name="examinations")
    operator = models.ForeignKey(
        Person, models.PROTECT, null=True, blank=True, related_name="examinations"
    )
    instrument = models.CharField(max_length=200, blank=True)
    settings = models.JSONField(
        default=dict,
        blank=True,
        help_text="Values under the codes of the settings vocabulary (voltage_kv: 28), others by "
        "name with their unit",
    )
    conditions = models.TextField(blank=True, help_text="Light, room, access")
    not_covered = models.TextField(blank=True, help_text="What was not examined, and why")
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        constraints = [*Record.Meta.constraints, *Dated.Meta.constraints]

    def __str__(self) -> str:
        return f"{self.technique}, {self.date}" if self.date else str(self.technique)

    def get_absolute_url(self) -> str:
        return reverse("examination", args=[self.pk])


@record(
    triggers=[
        inside_face("NEW.face_id"),
        signed_with("examination_id", "records_examination"),
    ]
)
class Coverage(Record):
    """The part of a face that an examination covered; no geometry means the whole face."""

    examination = models.ForeignKey(Examination, models.PROTECT, related_name="coverage")
    face = models.ForeignKey(Face, models.PROTECT, related_name="coverage")
    geometry = gis.GeometryField(srid=SRID, null=True, blank=True)
    rest_why = models.TextField(blank=True, help_text="Why the rest of the face was not covered")

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["examination", "face"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_coverage_once_per_face",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.face} covered by {self.examination}"

    def get_absolute_url(self) -> str:
        return f"{reverse('examination', args=[self.examination_id])}#coverage-{self.pk}"
