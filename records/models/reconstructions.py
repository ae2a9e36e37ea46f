"""Stored results of the history engine, and evidence that people have set aside."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from records.choices import Trust
from records.models.base import Record, record
from records.models.objects import Object


class Reconstruction(models.Model):
    """One computed history, with the case that it was computed from.

    Computed, never edited: a newer one is added when the evidence changes.
    """

    object = models.ForeignKey(Object, models.PROTECT, related_name="reconstructions")
    trust = models.CharField(max_length=8, choices=Trust, default=Trust.ALL)
    case = models.JSONField()
    case_sha256 = models.CharField(max_length=64)
    result = models.JSONField()
    engine_version = models.CharField(max_length=40)
    seconds = models.FloatField()
    computed_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-computed_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["object", "trust", "case_sha256", "engine_version"],
                name="records_reconstruction_once_per_case",
            )
        ]

    def __str__(self) -> str:
        return f"History of {self.object}, {self.get_trust_display().lower()}"

    def get_absolute_url(self) -> str:
        return reverse("object-history", args=[self.object_id])


@record()
class SetAside(Record):
    """An item of evidence that a person has set aside, with the reason; withdrawing brings it back.

    `item` is the item's id in the case, which names the record that it came from.
    """

    object = models.ForeignKey(Object, models.PROTECT, related_name="set_aside")
    item = models.CharField(max_length=80)
    why = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta(Record.Meta):
        ordering = ["-created_at", "-pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(condition=~Q(why=""), name="records_setaside_has_reason"),
            models.UniqueConstraint(
                fields=["object", "item"],
                condition=Q(withdrawn_at__isnull=True),
                name="records_setaside_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} set aside"

    def get_absolute_url(self) -> str:
        return reverse("object-history", args=[self.object_id])
