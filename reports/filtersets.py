"""How the list of dossiers is narrowed."""

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet

from reports.choices import DossierState
from reports.models import Dossier


class DossierListFilterSet(filters.FilterSet):
    words = filters.CharFilter(
        method="by_words",
        label="Find",
        widget=forms.TextInput(attrs={"type": "search", "data-key": "/"}),
    )
    state = filters.ChoiceFilter(choices=DossierState, label="State", empty_label="Any state")

    class Meta:
        model = Dossier
        fields: list[str] = []

    def by_words(self, rows: QuerySet[Dossier], name: str, value: Any) -> QuerySet[Dossier]:
        """Dossiers whose title, request or object holds every word, or with that SHA-256."""
        for word in value.split():
            rows = rows.filter(
                Q(title__icontains=word)
                | Q(request__icontains=word)
                | Q(object__title__icontains=word)
                | Q(object__accession_number__icontains=word)
                | Q(sha256__istartswith=word)
            )
        return rows
