"""Lists of the laboratory as tables."""

import django_tables2 as tables
from django.utils.safestring import SafeString

from analyses.models import Analysis, Identification, SamplingPoint
from records.tables import FIGURES, DateColumn, RecordTable, StatusColumn
from records.templatetags.records import status


class SamplingPointTable(RecordTable):
    number = tables.Column(linkify=True, verbose_name="No.")
    face = tables.Column(accessor="face__name", verbose_name="Face")
    date = DateColumn()
    purpose = tables.Column(orderable=False)
    invasive = tables.Column(verbose_name="Material taken")
    sample_count = tables.Column(verbose_name="Samples", attrs=FIGURES)
    analysis_count = tables.Column(verbose_name="Analyses", attrs=FIGURES)

    class Meta(RecordTable.Meta):
        model = SamplingPoint
        fields = [
            "number", "face", "date", "purpose", "invasive", "sample_count", "analysis_count",
        ]  # fmt: skip

    def render_invasive(self, value: bool) -> str:
        return "yes" if value else "no"


class AnalysisTable(RecordTable):
    technique = tables.Column(linkify=True, accessor="technique__label", verbose_name="Technique")
    target = tables.Column(orderable=False, verbose_name="Of")
    date = DateColumn()
    operator = tables.Column(accessor="operator__name", verbose_name="Operator")
    raw_sha256 = tables.Column(verbose_name="Raw data", empty_values=())
    signed_at = tables.Column(verbose_name="Signed", empty_values=())

    class Meta(RecordTable.Meta):
        model = Analysis
        fields = ["technique", "target", "date", "operator", "raw_sha256", "signed_at"]

    def render_technique(self, record: Analysis) -> str:
        return str(record.technique)

    def render_raw_sha256(self, record: Analysis) -> str:
        return record.file_name

    def render_signed_at(self, value: object) -> SafeString | str:
        return status("signed") if value else ""


class IdentificationTable(RecordTable):
    material = tables.Column(linkify=True, accessor="material__label", verbose_name="Material")
    target = tables.Column(orderable=False, verbose_name="In")
    confidence = StatusColumn()
    decision = StatusColumn()

    class Meta(RecordTable.Meta):
        model = Identification
        fields = ["material", "target", "confidence", "decision"]


class ReferenceTable(RecordTable):
    reference_for = tables.Column(
        linkify=True, accessor="reference_for", verbose_name="Material",
        order_by="reference_for__label",
    )  # fmt: skip
    technique = tables.Column(linkify=True, accessor="pk", order_by="technique__label",
                              verbose_name="Curve")  # fmt: skip
    target = tables.Column(orderable=False, verbose_name="Of")
    date = DateColumn()
    instrument = tables.Column(orderable=False)

    class Meta(RecordTable.Meta):
        model = Analysis
        fields = ["reference_for", "technique", "target", "date", "instrument"]
        order_by = "reference_for"

    def render_technique(self, record: Analysis) -> str:
        return str(record.technique)
