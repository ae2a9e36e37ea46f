"""What every resource of the interface shares: reasons for changes, withdrawal, plain refusals."""

from typing import Any, ClassVar

from django.contrib.gis.db import models as gis
from django.contrib.gis.geos import GEOSGeometry
from django.db import IntegrityError, models
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import ModelViewSet
from rest_framework_gis.serializers import GeoFeatureModelSerializer, GeometryField

from records.changes import change
from records.models import Record
from records.models.places import SRID
from records.refusals import explain

KEPT_BY_PROGRAM = (
    "created_at",
    "updated_at",
    "withdrawn_at",
    "withdrawn_by",
    "withdrawn_why",
    "signed_at",
    "signed_by",
)


class Reason(serializers.Serializer[Any]):
    """Why a record is withdrawn."""

    why = serializers.CharField()


class WithReason(serializers.Serializer[Any]):
    """Mixin: `why`, needed when an existing record is changed."""

    why = serializers.CharField(write_only=True, required=False, help_text="Why it is changed")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if self.instance is not None and not attrs.get("why", "").strip():
            raise ValidationError({"why": "Say why the record is changed."})
        checked: dict[str, Any] = super().validate(attrs)
        return checked


class RecordSerializer(WithReason, serializers.ModelSerializer[Any]):
    """A record as JSON."""


class MillimetreGeometry(GeometryField):
    """GeoJSON in face millimetres: no geographic reference system is assumed."""

    def to_internal_value(self, value: Any) -> GEOSGeometry:
        geometry: GEOSGeometry = super().to_internal_value(value)
        geometry.srid = SRID
        return geometry


class PlacedSerializer(WithReason, GeoFeatureModelSerializer):
    """A record with a place as a GeoJSON feature in face millimetres."""

    serializer_field_mapping: ClassVar = {
        **serializers.ModelSerializer.serializer_field_mapping,
        gis.GeometryField: MillimetreGeometry,
        gis.PointField: MillimetreGeometry,
        gis.PolygonField: MillimetreGeometry,
    }


class RecordViewSet(ModelViewSet[Any]):
    """List, read, add, change and withdraw one kind of record. Nothing is deleted."""

    http_method_names = ["get", "post", "put", "patch", "head", "options"]
    committee_reads = False
    recorded_as = ""  # the field, if any, that names who recorded it

    def perform_create(self, serializer: serializers.BaseSerializer[Any]) -> None:
        self._save(serializer, "recorded")

    def perform_update(self, serializer: serializers.BaseSerializer[Any]) -> None:
        self._save(serializer, "")

    def _save(self, serializer: serializers.BaseSerializer[Any], default: str) -> None:
        why = serializer.validated_data.pop("why", "") or default
        try:
            with change(user=self._user(), why=why):
                serializer.save(**self.stated_by_program(serializer))
        except IntegrityError as error:
            raise refusal(error, serializer.Meta.model) from error  # type: ignore[attr-defined]

    def stated_by_program(self, serializer: serializers.BaseSerializer[Any]) -> dict[str, Any]:
        """Values that the caller cannot state: who recorded it, for one."""
        if self.recorded_as and serializer.instance is None:
            return {self.recorded_as: self._user()}
        return {}

    def _user(self) -> Any:
        return self.request.user

    @extend_schema(request=Reason)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str | None = None) -> Response:
        """Take the record out of use, with a reason; it stays readable."""
        reason = Reason(data=request.data)
        reason.is_valid(raise_exception=True)
        record: Record = self.get_object()
        if record.is_withdrawn:
            raise ValidationError({"why": "The record is withdrawn already."})
        try:
            record.withdraw(user=self._user(), why=reason.validated_data["why"])
        except IntegrityError as error:
            raise refusal(error, type(record)) from error
        return Response(self.get_serializer(record).data, status=status.HTTP_200_OK)


def refusal(error: IntegrityError, model: type[models.Model]) -> ValidationError:
    """The database's refusal as a 400 that names the field."""
    return ValidationError(
        {field or "record": [message] for field, message in explain(error, model).items()}
    )
