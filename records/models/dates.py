"""Uncertain dates as people write them, with the first and last day that they allow.

The text (EDTF, ISO 8601-2) is kept verbatim; the two bounds are worked out from it on every save
so that the database can compare and index them. What the text means is `records.history.edtf`.
"""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from records.history import edtf


def validate_edtf(text: str) -> None:
    """Raise ValidationError that names the part not understood and gives an example."""
    try:
        edtf.read(text)
    except edtf.EdtfError as error:
        raise ValidationError(str(error), code="edtf") from error


class EdtfField(models.CharField):  # type: ignore[type-arg]
    """EDTF text, kept as written."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 80)
        kwargs.setdefault("blank", True)
        kwargs.setdefault("help_text", "As exactly as you know it: 1951, 1951-03, 1951~, 195X.")
        super().__init__(*args, **kwargs)
        self.validators = [*self.validators, validate_edtf]

    def deconstruct(self) -> tuple[str, str, list[Any], dict[str, Any]]:
        name, _path, args, kwargs = super().deconstruct()
        kwargs.pop("help_text", None)
        return name, "django.db.models.CharField", list(args), kwargs

    def formfield(self, **kwargs: Any) -> Any:
        from records.forms.dates import EdtfFormField

        return super().formfield(**{"form_class": EdtfFormField, **kwargs})


class EdtfBound(models.DateField):  # type: ignore[type-arg]
    """The first or last day that an `EdtfField` of the same model allows; None when it is open."""

    def __init__(self, source: str = "date", side: str = "earliest", **kwargs: Any) -> None:
        self.source, self.side = source, side
        kwargs.setdefault("null", True)
        kwargs.setdefault("blank", True)
        kwargs.setdefault("editable", False)
        super().__init__(**kwargs)

    def deconstruct(self) -> tuple[str, str, list[Any], dict[str, Any]]:
        name, _path, args, kwargs = super().deconstruct()
        return name, "django.db.models.DateField", list(args), kwargs

    def pre_save(self, model_instance: models.Model, add: bool) -> date | None:
        text = getattr(model_instance, self.source)
        bound: date | None = getattr(edtf.read(text), self.side) if text else None
        setattr(model_instance, self.attname, bound)
        return bound


class Dated(models.Model):
    """Mixin: one uncertain date."""

    date = EdtfField()
    date_earliest = EdtfBound("date", "earliest")
    date_latest = EdtfBound("date", "latest")

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(date_earliest__lte=F("date_latest"))
                | Q(date_earliest__isnull=True)
                | Q(date_latest__isnull=True),
                name="%(app_label)s_%(class)s_date_in_order",
            ),
            models.CheckConstraint(
                condition=~Q(date="") | Q(date_earliest__isnull=True, date_latest__isnull=True),
                name="%(app_label)s_%(class)s_no_bounds_without_date",
            ),
        ]

    @property
    def date_in_words(self) -> str:
        """The date told in plain English, or ''."""
        return edtf.describe(self.date) if self.date else ""
