"""Controlled vocabularies as data: a department may add terms, none is ever deleted."""

from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from records.choices import Family, MaterialDateKind, Shape, TechniqueGroup
from records.models.base import Record, record
from records.models.dates import Dated


class Term(Record):
    """One term of a vocabulary, with what it means and how it relates to others."""

    code = models.SlugField(max_length=80, unique=True)
    label = models.CharField(max_length=120)
    definition = models.TextField()
    broader = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="narrower"
    )
    note = models.TextField(blank=True)
    cautions = models.TextField(blank=True)
    identifiers = models.JSONField(
        default=list, blank=True, help_text='[{"scheme": "…", "uri": "…"}] of published lists'
    )
    translations = models.JSONField(
        default=dict, blank=True, help_text='{"de": {"label": "…", "definition": "…"}}'
    )

    class Meta(Record.Meta):
        abstract = True
        ordering = ["label", "pk"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(broader=F("id")), name="%(app_label)s_%(class)s_not_its_own_broader"
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def clean(self) -> None:
        seen, term = {self.pk}, self.broader
        while term is not None:
            if term.pk in seen:
                raise ValidationError({"broader": "This would make the term broader than itself."})
            seen.add(term.pk)
            term = term.broader


@record()
class TraceKind(Term):
    """A kind of trace: crack, retouching, underdrawing …"""

    family = models.CharField(max_length=16, choices=Family)
    shape = models.CharField(
        max_length=8, choices=Shape, help_text="How it is usually drawn on the face"
    )
    short = models.CharField(max_length=4, help_text="Letters that stand for it on a map")
    suits = ArrayField(models.CharField(max_length=16), default=list, blank=True)

    class Meta(Term.Meta):
        constraints = [
            *Term.Meta.constraints,
            models.UniqueConstraint(fields=["short"], name="records_tracekind_short_once"),
        ]

    def get_absolute_url(self) -> str:
        return reverse("trace-kind", args=[self.pk])


@record()
class TreatmentKind(Term):
    """A kind of treatment: lining, consolidation, surface cleaning …"""

    group = models.CharField(max_length=60, blank=True)

    def get_absolute_url(self) -> str:
        return reverse("treatment-kind", args=[self.pk])


@record()
class OccurrenceKind(Term):
    """A kind of occurrence: exhibition, transport, flood …"""

    group = models.CharField(max_length=60, blank=True)

    def get_absolute_url(self) -> str:
        return reverse("occurrence-kind", args=[self.pk])


@record()
class Technique(Term):
    """A way of examining or analysing."""

    group = models.CharField(max_length=16, choices=TechniqueGroup)
    abbreviation = models.CharField(max_length=16, blank=True)
    invasive = models.BooleanField(default=False, help_text="Needs a sample or leaves a mark")
    band = models.CharField(max_length=120, blank=True, help_text="Wavelengths or energies used")
    asks = ArrayField(
        models.CharField(max_length=40),
        default=list,
        blank=True,
        help_text="Settings that its information sheet asks for; empty: those of the broader term",
    )

    def asked(self) -> list[str]:
        """The settings that its sheet asks for: its own, or the nearest broader technique's."""
        term: Any = self
        while term is not None and not term.asks:
            term = term.broader
        return list(term.asks) if term else []

    def get_absolute_url(self) -> str:
        return reverse("technique", args=[self.pk])


@record()
class Material(Term):
    """An entry of the reference list of materials."""

    group = models.CharField(max_length=60, help_text="pigment, filler, binder, varnish …")
    composition = models.TextField(blank=True)
    formula = models.CharField(max_length=200, blank=True)
    elements = ArrayField(models.CharField(max_length=2), default=list, blank=True)
    marks = ArrayField(
        models.CharField(max_length=2),
        default=list,
        blank=True,
        help_text="Elements without which it is not there",
    )
    phases = ArrayField(
        models.CharField(max_length=40),
        default=list,
        blank=True,
        help_text="Crystalline phases that it may hold, by their codes",
    )
    bands = ArrayField(
        models.CharField(max_length=40),
        default=list,
        blank=True,
        help_text="Groups of infrared bands that it shows, by their codes",
    )
    colours = ArrayField(models.CharField(max_length=16), default=list, blank=True)
    uv = models.TextField(blank=True, help_text="Look under ultraviolet")
    hazards = ArrayField(
        models.CharField(max_length=12), default=list, blank=True, help_text="GHS H-statements"
    )

    def get_absolute_url(self) -> str:
        return reverse("material", args=[self.pk])


@record()
class MaterialDate(Record, Dated):
    """A dated fact about a material's use, with its source; disputed dates stand side by side."""

    material = models.ForeignKey(Material, models.PROTECT, related_name="dates")
    kind = models.CharField(max_length=16, choices=MaterialDateKind)
    source = models.TextField(help_text="Published source, or 'from memory'")
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["material", "date_earliest", "pk"]
        constraints = [
            *Record.Meta.constraints,
            *Dated.Meta.constraints,
            models.CheckConstraint(condition=~Q(date=""), name="records_materialdate_has_date"),
            models.CheckConstraint(condition=~Q(source=""), name="records_materialdate_has_source"),
        ]

    def __str__(self) -> str:
        return f"{self.material}: {self.get_kind_display().lower()} {self.date}"

    def get_absolute_url(self) -> str:
        return f"{reverse('material', args=[self.material_id])}#date-{self.pk}"
