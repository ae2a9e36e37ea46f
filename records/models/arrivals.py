"""Files on their way into the records, and the last check of those that are kept.

Neither is a record: an arrival is gone once it is settled, a check can be made again.
"""

import uuid
from pathlib import Path

from django.conf import settings
from django.db import models
from django.urls import reverse

from records.choices import ArrivalState
from records.models.images import Image
from records.models.objects import Object

FOLDER = "arrivals"


class Arrival(models.Model):
    """An image file that is uploaded in pieces, or taken from the ingest folder.

    How much of it has come is the size of its file, so that a broken connection or a stopped
    server leaves nothing to put right.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    object = models.ForeignKey(Object, models.CASCADE, related_name="arrivals")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="arrivals")
    filename = models.CharField(max_length=255)
    byte_size = models.PositiveBigIntegerField()
    described = models.JSONField(default=dict, help_text="What was said of it, field by field")
    in_folder = models.CharField(
        max_length=1000, blank=True, help_text="Where it lies in the ingest folder; '' if uploaded"
    )
    state = models.CharField(
        max_length=16, choices=ArrivalState, default=ArrivalState.ARRIVING, db_index=True
    )
    problem = models.TextField(blank=True)
    image = models.ForeignKey(
        Image, models.CASCADE, null=True, related_name="+", help_text="As what it is kept"
    )
    begun_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["begun_at"]

    def __str__(self) -> str:
        return self.filename

    def get_absolute_url(self) -> str:
        return reverse("arrival", args=[self.pk])

    @property
    def path(self) -> Path:
        """Where its bytes are gathered on this machine."""
        return Path(settings.MEDIA_ROOT) / FOLDER / str(self.pk) / "file"

    @property
    def arrived(self) -> int:
        """How many of its bytes are here."""
        try:
            return self.path.stat().st_size
        except FileNotFoundError:
            return 0


class FileCheck(models.Model):
    """The last time that a kept file was read and compared with its SHA-256."""

    name = models.CharField(max_length=400, primary_key=True, help_text="Its name in the store")
    checked_at = models.DateTimeField()
    fault = models.CharField(max_length=200, blank=True, help_text="'' when it is as it came")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
