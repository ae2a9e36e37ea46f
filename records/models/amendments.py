"""Signed corrections to signed records, which are themselves locked."""

import pgtrigger
from django.conf import settings
from django.contrib.contenttypes.fields import GenericForeignKey
from django.contrib.contenttypes.models import ContentType
from django.db import models
from django.db.models import Q

from records.models.base import Record, record, refuse


@record(
    triggers=[
        refuse(
            "never_changed",
            "A signed amendment is never changed: add another.",
            pgtrigger.Condition("TRUE"),
        )
    ]
)
class Amendment(Record):
    """A correction to a signed record, signed by whoever makes it and never changed."""

    content_type = models.ForeignKey(ContentType, models.PROTECT)
    object_id = models.PositiveBigIntegerField()
    amended = GenericForeignKey("content_type", "object_id")
    text = models.TextField()
    signed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    signed_at = models.DateTimeField(auto_now_add=True)

    class Meta(Record.Meta):
        ordering = ["signed_at", "pk"]
        indexes = [models.Index(fields=["content_type", "object_id"])]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(condition=~Q(text=""), name="records_amendment_says_something"),
        ]

    def __str__(self) -> str:
        return self.text
