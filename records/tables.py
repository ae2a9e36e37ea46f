"""Lists of records as tables."""

from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.models import (
    Material,
    Object,
    Occurrence,
    OccurrenceKind,
    Person,
    Source,
    Technique,
    Trace,
    TraceKind,
    Treatment,
    TreatmentKind,
)
from records.templatetags.records import edtf_short, formula, status

FIGURES = {"td": {"class": "num"}, "th": {"class": "num"}}


def struck_when_withdrawn(record: Any) -> str:
    return "withdrawn" if record.withdrawn_at else ""


class DateColumn(tables.Column):
    """An uncertain date in words, ordered by the first day it allows."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("verbose_name", "When")
        super().__init__(accessor="date", order_by=("date_earliest", "pk"), **kwargs)

    def render(self, value: str) -> str:
        return edtf_short(value)


class StatusColumn(tables.Column):
    """A word of a closed list as a mark and a word."""

    def render(self, record: Any, bound_column: Any) -> SafeString:
        code = getattr(record, bound_column.accessor)
        return status(code, getattr(record, f"get_{bound_column.accessor}_display")())


class RecordTable(tables.Table):
    """A list of records: withdrawn ones are struck through."""

    class Meta:
        row_attrs = {"class": struck_when_withdrawn}
        empty_text = ""


class ObjectTable(RecordTable):
    accession_number = tables.Column(verbose_name="Number", attrs={"td": {"class": "nowrap"}})
    title = tables.Column(linkify=True)
    date = DateColumn(verbose_name="Made")
    place = tables.Column(verbose_name="Where it is")

    class Meta(RecordTable.Meta):
        model = Object
        fields = ["accession_number", "title", "maker", "kind", "date", "place"]


class TraceTable(RecordTable):
    number = tables.Column(verbose_name="No.", linkify=True, attrs=FIGURES)
    kind = tables.Column(accessor="kind__label", verbose_name="Kind")
    family = tables.Column(accessor="kind__family", verbose_name="Family")
    label = tables.Column(accessor="pk", verbose_name="Trace", linkify=True, order_by="label")
    face = tables.Column(accessor="face__name", verbose_name="Face")

    class Meta(RecordTable.Meta):
        model = Trace
        fields = ["number", "label", "kind", "family", "face"]

    def render_label(self, record: Trace) -> str:
        return str(record)

    def render_family(self, record: Trace) -> SafeString:
        family = record.kind.family
        return format_html(
            '<span class="family-{}">{}</span>', family, record.kind.get_family_display()
        )


class TreatmentTable(RecordTable):
    title = tables.Column(linkify=True, verbose_name="Treatment")
    kind = tables.Column(accessor="kind__label", verbose_name="Kind")
    date = DateColumn()
    standing = StatusColumn(verbose_name="Known from")
    signed_at = tables.Column(verbose_name="Signed", empty_values=())

    class Meta(RecordTable.Meta):
        model = Treatment
        fields = ["date", "title", "kind", "standing", "signed_at"]

    def render_signed_at(self, value: Any) -> SafeString:
        return status("signed") if value else status("", "not signed")


class OccurrenceTable(RecordTable):
    title = tables.Column(linkify=True, verbose_name="Occurrence")
    kind = tables.Column(accessor="kind__label", verbose_name="Kind")
    date = DateColumn()
    place_to = tables.Column(verbose_name="Where")

    class Meta(RecordTable.Meta):
        model = Occurrence
        fields = ["date", "title", "kind", "place_to"]

    def render_place_to(self, record: Occurrence) -> str:
        return " → ".join(place for place in (record.place_from, record.place_to) if place)


class SourceTable(RecordTable):
    title = tables.Column(linkify=True, verbose_name="Paper")
    date = DateColumn()
    statement_count = tables.Column(verbose_name="Statements", attrs=FIGURES)

    class Meta(RecordTable.Meta):
        model = Source
        fields = ["date", "title", "kind", "author", "reference", "reliability", "statement_count"]


class PersonTable(RecordTable):
    name = tables.Column(linkify=True)

    class Meta(RecordTable.Meta):
        model = Person
        fields = ["name", "occupation"]


class TermTable(RecordTable):
    label = tables.Column(linkify=True, verbose_name="Term")
    broader = tables.Column(accessor="broader__label", verbose_name="Broader", linkify=False)
    definition = tables.Column(orderable=False)


class TraceKindTable(TermTable):
    family = tables.Column()

    class Meta(RecordTable.Meta):
        model = TraceKind
        fields = ["label", "short", "family", "broader", "definition"]

    def render_family(self, record: TraceKind) -> SafeString:
        return format_html(
            '<span class="family-{}">{}</span>', record.family, record.get_family_display()
        )


class TreatmentKindTable(TermTable):
    class Meta(RecordTable.Meta):
        model = TreatmentKind
        fields = ["label", "group", "broader", "definition"]


class OccurrenceKindTable(TermTable):
    class Meta(RecordTable.Meta):
        model = OccurrenceKind
        fields = ["label", "group", "broader", "definition"]


class TechniqueTable(TermTable):
    invasive = tables.BooleanColumn(yesno="needs a sample,")

    class Meta(RecordTable.Meta):
        model = Technique
        fields = ["label", "abbreviation", "group", "invasive", "definition"]
        exclude = ["broader"]


class MaterialTable(TermTable):
    class Meta(RecordTable.Meta):
        model = Material
        fields = ["label", "group", "formula", "broader", "definition"]

    def render_formula(self, value: str) -> str:
        return formula(value)
