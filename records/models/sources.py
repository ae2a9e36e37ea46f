"""Papers, and the dated or ordered claims drawn from them."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.urls import reverse

from records.choices import Reliability, SourceKind, StatementKind, Strength
from records.fixity import sha256
from records.models.base import Record, record
from records.models.dates import Dated
from records.models.objects import Object


@record()
class Source(Record, Dated):
    """A document, image or spoken account that statements rest on."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="sources")
    title = models.CharField(max_length=200)
    kind = models.CharField(max_length=16, choices=SourceKind)
    reference = models.CharField(max_length=200, blank=True, help_text="Archive and shelf mark")
    author = models.CharField(max_length=200, blank=True)
    reliability = models.PositiveSmallIntegerField(
        choices=Reliability, default=Reliability.FIRST_HAND
    )
    extract = models.TextField(blank=True, help_text="The words that matter, quoted")
    scan = models.FileField(upload_to="sources/", blank=True)
    scan_sha256 = models.CharField(max_length=64, blank=True, editable=False)

    class Meta(Record.Meta):
        ordering = ["date_earliest", "pk"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=Q(scan="", scan_sha256="")
                | (~Q(scan="") & Q(scan_sha256__regex=r"^[0-9a-f]{64}$")),
                name="records_source_scan_has_sha256",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the fixity of a scan from the moment that it arrives."""
        if not self.scan:
            self.scan_sha256 = ""
        elif not getattr(self.scan, "_committed", True):
            self.scan_sha256 = sha256(self.scan)
        super().save(*args, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("source", args=[self.pk])


@record()
class Statement(Record, Dated):
    """One claim of a source in the form that the history engine reads.

    Its participants are `events` (in order, where order matters) and `traces`.
    """

    object = models.ForeignKey(Object, models.PROTECT, related_name="statements")
    source = models.ForeignKey(Source, models.PROTECT, related_name="statements")
    kind = models.CharField(max_length=16, choices=StatementKind)
    strength = models.CharField(max_length=16, choices=Strength, default=Strength.LIKELY)
    text = models.TextField(help_text="The claim in words")
    min_days = models.PositiveIntegerField(null=True, blank=True)
    max_days = models.PositiveIntegerField(null=True, blank=True)
    within_days = models.PositiveIntegerField(null=True, blank=True)

    class Meta(Record.Meta):
        ordering = ["pk"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=Q(min_days__isnull=True)
                | Q(max_days__isnull=True)
                | Q(min_days__lte=models.F("max_days")),
                name="records_statement_days_in_order",
                violation_error_message="The least number of days is greater than the most.",
            ),
            models.CheckConstraint(
                condition=~Q(
                    kind__in=[
                        StatementKind.DATED_EVENT,
                        StatementKind.DATED_MADE,
                        StatementKind.DATED_GONE,
                    ]
                )
                | ~Q(date=""),
                name="records_statement_dated_kinds_have_date",
                violation_error_message="This kind of statement needs a date.",
            ),
            models.CheckConstraint(
                condition=~Q(kind=StatementKind.LASTS)
                | Q(min_days__isnull=False, max_days__isnull=False),
                name="records_statement_lasts_has_days",
                violation_error_message="Give the least and the most number of days.",
            ),
            models.CheckConstraint(
                condition=~Q(kind=StatementKind.TOGETHER) | Q(within_days__isnull=False),
                name="records_statement_together_has_days",
                violation_error_message="Give the days within which the traces were made.",
            ),
        ]

    def __str__(self) -> str:
        return self.text

    def get_absolute_url(self) -> str:
        return reverse("statement", args=[self.pk])
