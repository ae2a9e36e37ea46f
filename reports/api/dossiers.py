"""Dossiers, for reading: they are asked for and signed on the page, by a person."""

from typing import Any, ClassVar

import django_filters as filters
from rest_framework import serializers
from rest_framework.viewsets import ReadOnlyModelViewSet

from reports.models import Dossier


class DossierFilterSet(filters.FilterSet):
    class Meta:
        model = Dossier
        fields: ClassVar = ["object", "state", "sha256"]


class DossierSerializer(serializers.ModelSerializer[Any]):
    class Meta:
        model = Dossier
        exclude = ("file",)


class DossierViewSet(ReadOnlyModelViewSet[Any]):
    queryset = Dossier.objects.all()
    serializer_class = DossierSerializer
    filterset_class = DossierFilterSet
    committee_reads = True
