"""Dossiers: frozen compilations about one object for one request."""

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from records.models import Object
from reports.choices import DossierState


@pgtrigger.register(
    pgtrigger.Protect(name="never_deleted", operation=pgtrigger.Delete),
    pgtrigger.Protect(
        name="frozen_when_ready",
        operation=pgtrigger.Update,
        condition=pgtrigger.Condition(
            "OLD.state = 'ready' AND ROW(OLD.object_id, OLD.title, OLD.request, OLD.state,"
            " OLD.file, OLD.sha256, OLD.page_count, OLD.case_sha256, OLD.requested_by_id,"
            " OLD.finished_at) IS DISTINCT FROM ROW(NEW.object_id, NEW.title, NEW.request,"
            " NEW.state, NEW.file, NEW.sha256, NEW.page_count, NEW.case_sha256,"
            " NEW.requested_by_id, NEW.finished_at)"
        ),
    ),
    pgtrigger.Protect(
        name="locked_when_signed",
        operation=pgtrigger.Update,
        condition=pgtrigger.Condition("OLD.signed_at IS NOT NULL"),
    ),
)
class Dossier(models.Model):
    """A PDF about one object, made once, stored with its SHA-256, then signed by a person."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="dossiers")
    title = models.CharField(max_length=200)
    request = models.TextField(help_text="The decision that it is made for")
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="requested_dossiers"
    )
    requested_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=8, choices=DossierState, default=DossierState.QUEUED)
    progress = models.PositiveSmallIntegerField(default=0, help_text="Per cent")
    step = models.CharField(max_length=120, blank=True)
    error = models.TextField(blank=True)
    file = models.FileField(upload_to="dossiers/", blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    page_count = models.PositiveIntegerField(null=True, blank=True)
    case_sha256 = models.CharField(max_length=64, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    signed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-requested_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state=DossierState.READY)
                | (
                    ~Q(file="")
                    & Q(sha256__regex=r"^[0-9a-f]{64}$")
                    & Q(page_count__isnull=False, finished_at__isnull=False)
                ),
                name="reports_dossier_ready_has_file",
            ),
            models.CheckConstraint(
                condition=Q(progress__lte=100), name="reports_dossier_progress_in_range"
            ),
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True) | Q(state=DossierState.READY),
                name="reports_dossier_signed_when_ready",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("dossier", args=[self.pk])
