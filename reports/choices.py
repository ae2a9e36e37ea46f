"""Closed lists of the reports."""

from django.db.models import TextChoices


class DossierState(TextChoices):
    QUEUED = "queued", "Waiting"
    BUILDING = "building", "Being made"
    READY = "ready", "Ready"
    FAILED = "failed", "Failed"
