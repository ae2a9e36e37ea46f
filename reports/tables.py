"""The list of dossiers as a table."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.templatetags.records import day, status
from reports.models import Dossier


class DossierTable(tables.Table):
    title = tables.Column(linkify=True)
    object = tables.Column(accessor="object", linkify=True, verbose_name="On")
    requested_at = tables.Column(verbose_name="Asked for")
    state = tables.Column(verbose_name="State")
    page_count = tables.Column(
        verbose_name="Pages", attrs={"td": {"class": "num"}, "th": {"class": "num"}}, default=""
    )

    class Meta:
        model = Dossier
        fields = ["title", "object", "requested_at", "state", "page_count"]

    def render_requested_at(self, record: Dossier) -> SafeString:
        return format_html("{} by {}", day(record.requested_at), record.requested_by)

    def render_state(self, record: Dossier) -> SafeString:
        if record.signed_at:
            return status("signed", f"signed by {record.signed_by}")
        return status(record.state, record.get_state_display().lower())
