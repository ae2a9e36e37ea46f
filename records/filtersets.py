"""How lists of records are narrowed, by pages and programs alike.

Places are face millimetres; days are ISO 8601 days (2026-11-25).
"""

from math import isfinite
from typing import Any, ClassVar

import django_filters as filters
from django import forms
from django.contrib.gis.geos import Point
from django.core.exceptions import ValidationError
from django.db.models import Exists, F, OuterRef, Q, QuerySet, TextField, Value
from django.db.models.functions import Cast

from records.choices import Family
from records.models import (
    Amendment,
    Campaign,
    Component,
    Coverage,
    Effect,
    Examination,
    Face,
    Image,
    Material,
    MaterialDate,
    Object,
    Occurrence,
    OccurrenceKind,
    Person,
    Placement,
    Reconstruction,
    Relation,
    SetAside,
    Sighting,
    Source,
    Statement,
    StatementEvent,
    StatementTrace,
    Technique,
    Trace,
    TraceKind,
    Treatment,
    TreatmentArea,
    TreatmentKind,
    Zone,
)
from records.spatial import Intersects, WithinMm, box, literal

Rows = QuerySet[Any]


class MillimetresField(forms.CharField):
    """Comma-separated millimetres, a fixed number of them."""

    def __init__(self, *, count: int, example: str, **kwargs: Any) -> None:
        self.count, self.example = count, example
        super().__init__(**kwargs)

    def clean(self, value: Any) -> list[float] | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            read = [float(part) for part in text.split(",")]
        except ValueError:
            read = []
        if len(read) != self.count or not all(map(isfinite, read)):
            raise ValidationError(
                f"“{text}” is not {self.count} numbers in millimetres, such as {self.example}."
            )
        if self.count == 4 and (read[0] > read[2] or read[1] > read[3]):
            raise ValidationError("A box runs from its lower left to its upper right corner.")
        return read


class MillimetresFilter(filters.Filter):
    field_class = MillimetresField


class RecordFilterSet(filters.FilterSet):
    """Every list: withdrawn records are left out unless asked for."""

    withdrawn = filters.BooleanFilter(
        method="with_withdrawn", label="Withdrawn records too", initial=False
    )

    def with_withdrawn(self, queryset: Rows, name: str, value: bool) -> Rows:
        return queryset

    def filter_queryset(self, queryset: Rows) -> Rows:
        rows: Rows = super().filter_queryset(queryset)
        if not self.form.cleaned_data.get("withdrawn"):
            rows = rows.filter(withdrawn_at__isnull=True)
        return rows


class PlacedFilterSet(RecordFilterSet):
    """Records with a place: by rectangle, by nearness, by zone."""

    place: ClassVar[str] = "geometry"
    face_path: ClassVar[str] = "face"

    bbox = MillimetresFilter(
        method="in_box", label="Box: xmin,ymin,xmax,ymax in mm", count=4, example="0,0,500,300"
    )
    near = MillimetresFilter(
        method="near_point", label="Near a point: x,y in mm", count=2, example="120.5,80"
    )
    within_mm = filters.NumberFilter(method="with_near", label="… and at most so many mm from it")
    zone = filters.ModelChoiceFilter(queryset=Zone.objects.all(), method="in_zone", label="Zone")

    def in_box(self, queryset: Rows, name: str, value: list[float]) -> Rows:
        return queryset.filter(Intersects(F(self.place), literal(box(*value))))

    def near_point(self, queryset: Rows, name: str, value: list[float]) -> Rows:
        distance = self.form.cleaned_data.get("within_mm") or 0
        point = literal(Point(*value))
        return queryset.filter(WithinMm(F(self.place), point, Value(float(distance))))

    def with_near(self, queryset: Rows, name: str, value: Any) -> Rows:
        return queryset

    def in_zone(self, queryset: Rows, name: str, value: Zone) -> Rows:
        return queryset.filter(
            Intersects(F(self.place), literal(value.geometry)), **{self.face_path: value.face_id}
        )


class ObjectFilterSet(RecordFilterSet):
    q = filters.CharFilter(method="search", label="Search")
    maker = filters.CharFilter(lookup_expr="icontains", label="Maker")
    place = filters.CharFilter(lookup_expr="icontains", label="Where it is")

    class Meta:
        model = Object
        fields = ["q", "kind", "maker", "place"]

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        for word in value.split():
            queryset = queryset.filter(
                Q(title__icontains=word)
                | Q(maker__icontains=word)
                | Q(accession_number__icontains=word)
                | Q(place__icontains=word)
                | Q(materials__icontains=word)
            )
        return queryset


class ComponentFilterSet(RecordFilterSet):
    class Meta:
        model = Component
        fields = ["object", "parent"]


class FaceFilterSet(RecordFilterSet):
    class Meta:
        model = Face
        fields = ["object", "component", "kind"]


class ZoneFilterSet(PlacedFilterSet):
    class Meta:
        model = Zone
        fields = ["face", "face__object", "name"]


class CampaignFilterSet(RecordFilterSet):
    class Meta:
        model = Campaign
        fields = ["object", "parent", "purpose"]


class ExaminationFilterSet(RecordFilterSet):
    object = filters.ModelChoiceFilter(
        queryset=Object.objects.all(), field_name="campaign__object", label="Object"
    )
    technique = filters.CharFilter(field_name="technique__code", label="Technique (code)")

    class Meta:
        model = Examination
        fields = ["object", "campaign", "technique"]


class CoverageFilterSet(RecordFilterSet):
    class Meta:
        model = Coverage
        fields = ["examination", "face"]


class ImageFilterSet(RecordFilterSet):
    class Meta:
        model = Image
        fields = ["object", "examination", "kind", "sha256"]


class PlacementFilterSet(RecordFilterSet):
    class Meta:
        model = Placement
        fields = ["image", "face"]


class SourceFilterSet(RecordFilterSet):
    q = filters.CharFilter(method="search", label="Search")

    class Meta:
        model = Source
        fields = ["q", "object", "kind", "reliability"]

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        for word in value.split():
            queryset = queryset.filter(
                Q(title__icontains=word)
                | Q(author__icontains=word)
                | Q(reference__icontains=word)
                | Q(extract__icontains=word)
            )
        return queryset


class StatementFilterSet(RecordFilterSet):
    class Meta:
        model = Statement
        fields = ["object", "source", "kind", "strength"]


class StatementEventFilterSet(RecordFilterSet):
    class Meta:
        model = StatementEvent
        fields = ["statement", "treatment", "occurrence", "campaign", "examination", "image"]


class StatementTraceFilterSet(RecordFilterSet):
    class Meta:
        model = StatementTrace
        fields = ["statement", "trace"]


class TraceFilterForm(forms.Form):
    """A state on a day is worked out for one object at a time."""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for day in ("certainly_present_on", "possibly_present_on"):
            if cleaned.get(day) and not cleaned.get("object"):
                self.add_error(day, "Name the object too: object=…")
        return cleaned


class TraceFilterSet(PlacedFilterSet):
    """Traces, also by the state that the reconstruction gives them on a day.

    The two day filters need `object`: a state is worked out for one object at a time.
    """

    place = "shape"

    q = filters.CharFilter(method="search", label="Search")
    object = filters.ModelChoiceFilter(
        queryset=Object.objects.all(), field_name="face__object", label="Object"
    )
    kind = filters.CharFilter(field_name="kind__code", label="Kind (code)")
    family = filters.ChoiceFilter(field_name="kind__family", choices=Family.choices, label="Family")
    campaign = filters.ModelChoiceFilter(
        queryset=Campaign.objects.all(), method="in_campaign", label="Campaign"
    )
    certainly_present_on = filters.DateFilter(
        method="certainly_present", label="Certainly present on"
    )
    possibly_present_on = filters.DateFilter(method="possibly_present", label="Possibly present on")

    class Meta:
        model = Trace
        form = TraceFilterForm
        fields = ["q", "object", "face", "kind", "family", "number"]

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        for word in value.split():
            queryset = queryset.filter(
                Q(label__icontains=word)
                | Q(number__iexact=word)
                | Q(kind__label__icontains=word)
                | Q(description__icontains=word)
            )
        return queryset

    def in_campaign(self, queryset: Rows, name: str, value: Campaign) -> Rows:
        looks = Sighting.objects.filter(
            trace=OuterRef("pk"), examination__campaign=value, withdrawn_at__isnull=True
        )
        return queryset.filter(Exists(looks))

    def certainly_present(self, queryset: Rows, name: str, value: Any) -> Rows:
        return self._on_day(queryset, name, value, {"present"})

    def possibly_present(self, queryset: Rows, name: str, value: Any) -> Rows:
        return self._on_day(queryset, name, value, {"present", "possible"})

    def _on_day(self, queryset: Rows, name: str, day: Any, states: set[str]) -> Rows:
        from records.reconstruction.states import traces_on

        states_by_trace = traces_on(self.form.cleaned_data["object"], day)
        found = [pk for pk, state in states_by_trace.items() if state in states]
        return queryset.filter(pk__in=found)


class SightingFilterSet(PlacedFilterSet):
    face_path = "trace__face"

    face = filters.ModelChoiceFilter(
        queryset=Face.objects.all(), field_name="trace__face", label="Face"
    )
    object = filters.ModelChoiceFilter(
        queryset=Object.objects.all(), field_name="trace__face__object", label="Object"
    )
    kind = filters.CharFilter(field_name="trace__kind__code", label="Kind (code)")
    family = filters.ChoiceFilter(
        field_name="trace__kind__family", choices=Family.choices, label="Family"
    )
    campaign = filters.ModelChoiceFilter(
        queryset=Campaign.objects.all(), field_name="examination__campaign", label="Campaign"
    )

    class Meta:
        model = Sighting
        fields = ["object", "face", "trace", "examination", "image", "outcome", "strength"]


class RelationFilterSet(RecordFilterSet):
    object = filters.ModelChoiceFilter(
        queryset=Object.objects.all(), field_name="upper__face__object", label="Object"
    )

    class Meta:
        model = Relation
        fields = ["object", "upper", "lower", "order", "strength"]


class TreatmentFilterSet(RecordFilterSet):
    kind = filters.CharFilter(field_name="kind__code", label="Kind (code)")
    material = filters.CharFilter(field_name="materials__code", label="Material (code)")

    class Meta:
        model = Treatment
        fields = ["object", "campaign", "kind", "standing", "material"]


class TreatmentAreaFilterSet(PlacedFilterSet):
    class Meta:
        model = TreatmentArea
        fields = ["treatment", "face"]


class OccurrenceFilterSet(RecordFilterSet):
    kind = filters.CharFilter(field_name="kind__code", label="Kind (code)")

    class Meta:
        model = Occurrence
        fields = ["object", "kind"]


class EffectFilterSet(RecordFilterSet):
    class Meta:
        model = Effect
        fields = ["treatment", "occurrence", "trace", "kind", "strength"]


class PersonFilterSet(RecordFilterSet):
    q = filters.CharFilter(field_name="name", lookup_expr="icontains", label="Search")

    class Meta:
        model = Person
        fields = ["q"]


class TermFilterSet(RecordFilterSet):
    q = filters.CharFilter(method="search", label="Search")
    broader = filters.CharFilter(field_name="broader__code", label="Broader term (code)")

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        for word in value.split():
            queryset = queryset.filter(
                Q(label__icontains=word) | Q(definition__icontains=word) | Q(code__icontains=word)
            )
        return queryset


class TraceKindFilterSet(TermFilterSet):
    class Meta:
        model = TraceKind
        fields = ["q", "code", "broader", "family", "shape"]


class TreatmentKindFilterSet(TermFilterSet):
    class Meta:
        model = TreatmentKind
        fields = ["q", "code", "broader", "group"]


class OccurrenceKindFilterSet(TermFilterSet):
    class Meta:
        model = OccurrenceKind
        fields = ["q", "code", "broader", "group"]


class TechniqueFilterSet(TermFilterSet):
    class Meta:
        model = Technique
        fields = ["q", "code", "broader", "group", "invasive"]


class MaterialFilterSet(TermFilterSet):
    element = filters.CharFilter(method="with_element", label="Element (symbol)")

    class Meta:
        model = Material
        fields = ["q", "code", "broader", "group"]

    def with_element(self, queryset: Rows, name: str, value: str) -> Rows:
        return queryset.filter(elements__contains=[value])


class MaterialDateFilterSet(RecordFilterSet):
    class Meta:
        model = MaterialDate
        fields = ["material", "kind"]


class SetAsideFilterSet(RecordFilterSet):
    class Meta:
        model = SetAside
        fields = ["object", "item"]


class AmendmentFilterSet(RecordFilterSet):
    class Meta:
        model = Amendment
        fields = ["content_type", "object_id"]


class ReconstructionFilterSet(filters.FilterSet):
    class Meta:
        model = Reconstruction
        fields = ["object", "trust", "case_sha256"]


# Lists on pages: the filters above, fewer and drawn for a person who types.


def search_box() -> forms.TextInput:
    """The field that narrows a list as one types."""
    return forms.TextInput(attrs={"type": "search", "data-key": "/"})


class ListFilterSet(RecordFilterSet):
    """Filters of a list on a page: words, and a box for withdrawn records."""

    q = filters.CharFilter(method="search", label="Search", widget=search_box())
    withdrawn = filters.BooleanFilter(
        method="with_withdrawn", label="Withdrawn too", widget=forms.CheckboxInput
    )

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        raise NotImplementedError


class ObjectListFilterSet(ListFilterSet, ObjectFilterSet):
    class Meta:
        model = Object
        fields = ["q", "kind", "maker", "place", "withdrawn"]

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        return ObjectFilterSet.search(self, queryset, name, value)


class TraceListFilterSet(ListFilterSet):
    """The traces of one object; `faces` are set by the page."""

    family = filters.ChoiceFilter(
        field_name="kind__family", choices=Family.choices, label="Family", empty_label="Any"
    )
    face = filters.ModelChoiceFilter(queryset=Face.objects.none(), label="Face", empty_label="Any")

    class Meta:
        model = Trace
        fields = ["q", "family", "face", "withdrawn"]

    def __init__(self, *args: Any, item: Object, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.filters["face"].queryset = item.faces.all()

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        return TraceFilterSet.search(self, queryset, name, value)


class SourceListFilterSet(ListFilterSet):
    class Meta:
        model = Source
        fields = ["q", "kind", "reliability", "withdrawn"]

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        return SourceFilterSet.search(self, queryset, name, value)


class PersonListFilterSet(ListFilterSet):
    class Meta:
        model = Person
        fields = ["q", "withdrawn"]

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        for word in value.split():
            queryset = queryset.filter(Q(name__icontains=word) | Q(occupation__icontains=word))
        return queryset


class TermListFilterSet(ListFilterSet):
    """Terms of any vocabulary, found by label, definition, code or a translation."""

    def search(self, queryset: Rows, name: str, value: str) -> Rows:
        for word in value.split():
            queryset = queryset.annotate(told=Cast("translations", TextField())).filter(
                Q(label__icontains=word)
                | Q(definition__icontains=word)
                | Q(code__icontains=word)
                | Q(told__icontains=word)
            )
        return queryset


class TraceKindListFilterSet(TermListFilterSet):
    class Meta:
        model = TraceKind
        fields = ["q", "family", "withdrawn"]


class TreatmentKindListFilterSet(TermListFilterSet):
    group = filters.AllValuesFilter(label="Group", empty_label="Any")

    class Meta:
        model = TreatmentKind
        fields = ["q", "group", "withdrawn"]


class OccurrenceKindListFilterSet(TermListFilterSet):
    group = filters.AllValuesFilter(label="Group", empty_label="Any")

    class Meta:
        model = OccurrenceKind
        fields = ["q", "group", "withdrawn"]


class TechniqueListFilterSet(TermListFilterSet):
    class Meta:
        model = Technique
        fields = ["q", "group", "withdrawn"]


class MaterialListFilterSet(TermListFilterSet):
    group = filters.AllValuesFilter(label="Group", empty_label="Any")
    element = filters.CharFilter(method="with_element", label="Element (symbol)")

    class Meta:
        model = Material
        fields = ["q", "group", "element", "withdrawn"]

    def with_element(self, queryset: Rows, name: str, value: str) -> Rows:
        return queryset.filter(elements__contains=[value.strip().capitalize()])
