"""The vocabularies: browsing, reading a term, adding and changing terms."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any, ClassVar

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from analyses.signatures import signature_of
from records import filtersets, tables
from records.access import Access, signed_in
from records.choices import MaterialDateKind
from records.forms import vocabulary as forms
from records.models import (
    Material,
    OccurrenceKind,
    Person,
    Technique,
    TraceKind,
    TreatmentKind,
)
from records.trail import LISTS, may_write
from records.views.base import ChangeRecord, ListPage, NewRecord, RecordPage
from records.vocabulary.hazards import in_words

STANDING = Q(withdrawn_at__isnull=True)


@dataclass(frozen=True, slots=True)
class Scheme:
    """One vocabulary: its terms and how they are listed, filtered and entered."""

    model: Any
    table_class: type[Any]
    filter_class: type[Any]
    form_class: type[Any]
    words: str


SCHEMES = (
    Scheme(
        TraceKind,
        tables.TraceKindTable,
        filtersets.TraceKindListFilterSet,
        forms.TraceKindForm,
        "Lasting marks on an object: alterations, interventions, and what its making left.",
    ),
    Scheme(
        TreatmentKind,
        tables.TreatmentKindTable,
        filtersets.TreatmentKindListFilterSet,
        forms.TreatmentKindForm,
        "What is done to an object to keep it or to make it legible.",
    ),
    Scheme(
        OccurrenceKind,
        tables.OccurrenceKindTable,
        filtersets.OccurrenceKindListFilterSet,
        forms.OccurrenceKindForm,
        "Whatever else matters in the life of an object.",
    ),
    Scheme(
        Technique,
        tables.TechniqueTable,
        filtersets.TechniqueListFilterSet,
        forms.TechniqueForm,
        "Ways of examining and analysing, each with its cautions.",
    ),
    Scheme(
        Material,
        tables.MaterialTable,
        filtersets.MaterialListFilterSet,
        forms.MaterialForm,
        "Pigments, fillers, binders and the rest, with the dates of their use and their sources.",
    ),
)


class Vocabulary(Access):
    """The vocabularies, how many terms each has, and the list of people."""

    def get(self, request: HttpRequest) -> HttpResponse:
        schemes = [
            {
                "title": LISTS[scheme.model][0],
                "name": LISTS[scheme.model][1],
                "words": scheme.words,
                "count": scheme.model.objects.filter(STANDING).count(),
            }
            for scheme in SCHEMES
        ]
        context = {
            "nav": "vocabulary",
            "schemes": schemes,
            "people": Person.objects.filter(STANDING).count(),
        }
        return render(request, "records/vocabulary.html", context)


class Terms(ListPage):
    """The terms of one vocabulary."""

    scheme: ClassVar[Any] = None
    template = "records/terms.html"
    per_page = 100

    def setup(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        super().setup(request, *args, **kwargs)
        self.table_class = self.scheme.table_class  # type: ignore[misc]
        self.filter_class = self.scheme.filter_class  # type: ignore[misc]

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        title, name = LISTS[self.scheme.model]
        return {
            "nav": "vocabulary",
            "title": title,
            "name": name,
            "scheme": self.scheme,
            "may_write": may_write(signed_in(request), self.scheme.model),
        }

    def rows(self, context: dict[str, Any]) -> QuerySet[Any]:
        rows: QuerySet[Any] = self.scheme.model.objects.select_related("broader")
        return rows


class TermPage(RecordPage):
    """One term: what it means, its place among others, its translations and identifiers."""

    model: ClassVar[Any] = None
    template = "records/term.html"

    def records(self) -> QuerySet[Any]:
        found: QuerySet[Any] = self.model.objects.select_related("broader")
        return found

    def gather(self, record: Any) -> dict[str, Any]:
        context: dict[str, Any] = {
            "nav": "vocabulary",
            "narrower": record.narrower.filter(STANDING),
            "name": LISTS[type(record)][1],
        }
        if isinstance(record, Material):
            context |= {
                "dates": dates_by_kind(record),
                "hazards": in_words(record.hazards),
                "signature": signature_of(record),
                "references": record.reference_analyses.standing().select_related("technique"),
            }
        return context


def dates_by_kind(material: Material) -> list[dict[str, Any]]:
    """Each kind of date with the views on it; more than one that stands is a dispute."""
    views: dict[str, list[Any]] = defaultdict(list)
    for known in material.dates.order_by("withdrawn_at", "date_earliest", "pk"):
        views[known.kind].append(known)
    return [
        {
            "label": kind.label,
            "views": views[kind],
            "standing": sum(not view.is_withdrawn for view in views[kind]),
        }
        for kind in MaterialDateKind
        if views[kind]
    ]


class NewTerm(NewRecord):
    def title(self, record: Any) -> str:
        return f"New {record._meta.verbose_name}"


class ChangeTerm(ChangeRecord):
    pass


class NewMaterialDate(NewRecord):
    form_class = forms.MaterialDateForm
    parent, link = Material, "material"

    def title(self, record: Any) -> str:
        return "New date of use"


class ChangeMaterialDate(ChangeRecord):
    form_class = forms.MaterialDateForm
