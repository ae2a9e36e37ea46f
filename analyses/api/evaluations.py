"""Evaluations of raw files: asked for, looked at, taken as readings."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.mixins import CreateModelMixin, ListModelMixin, RetrieveModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from analyses import evaluating
from analyses.api.results import ReadingSerializer
from analyses.filtersets import EvaluationFilterSet
from analyses.forms.evaluations import form_for
from analyses.models import Analysis, Evaluation


class EvaluationSerializer(serializers.ModelSerializer[Evaluation]):
    """What was given and what was found; `done_at` is empty while it waits in the queue."""

    analysis = serializers.PrimaryKeyRelatedField(
        queryset=Analysis.objects.standing().select_related("technique")
    )
    given = serializers.DictField(
        required=False,
        help_text="Settings of the method, as on the page of the analysis: voltage_kv, anode …",
    )

    class Meta:
        model = Evaluation
        fields = "__all__"
        read_only_fields = (
            "raw_sha256", "method", "version", "result", "error", "asked_by", "asked_at", "done_at",
        )  # fmt: skip

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        analysis: Analysis = attrs["analysis"]
        if not evaluating.can_be_evaluated(analysis):
            words = (
                "There is nothing to evaluate: it needs a raw file of XRF, SEM-EDX, XRD or FTIR."
            )
            raise ValidationError({"analysis": words})
        if analysis.is_signed:
            raise ValidationError({"analysis": "The analysis is signed and takes no readings."})
        given = attrs.get("given", {})
        form = form_for(analysis, {f"evaluation-{name}": said for name, said in given.items()})
        if unknown := set(given) - set(form.fields):
            words = (
                f"{', '.join(sorted(unknown))}: not asked here. Known: {', '.join(form.fields)}."
            )
            raise ValidationError({"given": words})
        if not form.is_valid():
            told = [f"{name}: {' '.join(map(str, errors))}" for name, errors in form.errors.items()]
            raise ValidationError({"given": told})
        attrs["given"] = form.given()
        return attrs


class Taken(serializers.Serializer[Any]):
    """Codes of the findings that become readings."""

    findings = serializers.ListField(child=serializers.CharField(), allow_empty=False)


class EvaluationViewSet(
    ListModelMixin, RetrieveModelMixin, CreateModelMixin, GenericViewSet[Evaluation]
):
    """Evaluations are computed by the queue and never changed: ask again to have another."""

    queryset = Evaluation.objects.select_related("analysis__technique")
    serializer_class = EvaluationSerializer
    filterset_class = EvaluationFilterSet
    committee_reads = False

    def perform_create(self, serializer: serializers.BaseSerializer[Evaluation]) -> None:
        asked = serializer.validated_data
        user: Any = self.request.user
        serializer.instance = evaluating.ask(asked["analysis"], asked["given"], user)

    @extend_schema(request=Taken, responses={201: ReadingSerializer(many=True)})
    @action(detail=True, methods=["post"], filterset_class=None, pagination_class=None)
    def take(self, request: Request, pk: str | None = None) -> Response:
        """Make readings of findings, under the name of who asks; one taken already is left."""
        evaluation = self.get_object()
        said = Taken(data=request.data)
        said.is_valid(raise_exception=True)
        known = {finding["code"] for finding in (evaluation.result or {}).get("findings", [])}
        if unknown := set(said.validated_data["findings"]) - known:
            raise ValidationError({"findings": f"Not found there: {', '.join(sorted(unknown))}."})
        user: Any = request.user
        made = evaluating.take(evaluation, said.validated_data["findings"], user)
        return Response(ReadingSerializer(made, many=True).data, status=status.HTTP_201_CREATED)
