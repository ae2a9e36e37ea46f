"""What the program made of a raw file; a person takes readings from it, or does not."""

from django.conf import settings
from django.db import models
from django.urls import reverse

from analyses.models.results import Analysis


class Evaluation(models.Model):
    """One computation on one raw file, kept as it came out, with all it was given.

    Not a record: nobody states it, and the same file and settings give the same again. While
    `done_at` is empty it waits in the queue; `error` says, for people, why nothing came of it.
    """

    analysis = models.ForeignKey(Analysis, models.PROTECT, related_name="evaluations")
    raw_sha256 = models.CharField(max_length=64)
    given = models.JSONField(default=dict, blank=True, help_text="Settings asked for")
    method = models.CharField(max_length=80, blank=True)
    version = models.CharField(max_length=24, blank=True)
    result = models.JSONField(null=True, blank=True)
    error = models.TextField(blank=True)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField(auto_now_add=True)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.method or 'Evaluation'} of {self.analysis}"

    def get_absolute_url(self) -> str:
        return f"{reverse('analysis', args=[self.analysis_id])}#evaluation-{self.pk}"
