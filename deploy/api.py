"""Addresses of the interface for programs: each kind of record of every app is one collection."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.authtoken.views import obtain_auth_token
from rest_framework.routers import DefaultRouter

from analyses.api import evaluations, results, sampling
from records.api import (
    campaigns,
    events,
    images,
    mosaics,
    objects,
    reconstructions,
    sources,
    traces,
)
from records.api import vocabulary as terms
from reports.api import dossiers

router = DefaultRouter()
for name, viewset in [
    ("objects", objects.ObjectViewSet),
    ("components", objects.ComponentViewSet),
    ("faces", objects.FaceViewSet),
    ("zones", objects.ZoneViewSet),
    ("people", objects.PersonViewSet),
    ("campaigns", campaigns.CampaignViewSet),
    ("examinations", campaigns.ExaminationViewSet),
    ("coverage", campaigns.CoverageViewSet),
    ("images", images.ImageViewSet),
    ("placements", images.PlacementViewSet),
    ("mosaics", mosaics.MosaicViewSet),
    ("mosaic-frames", mosaics.MosaicFrameViewSet),
    ("sources", sources.SourceViewSet),
    ("statements", sources.StatementViewSet),
    ("statement-events", sources.StatementEventViewSet),
    ("statement-traces", sources.StatementTraceViewSet),
    ("traces", traces.TraceViewSet),
    ("sightings", traces.SightingViewSet),
    ("relations", traces.RelationViewSet),
    ("treatments", events.TreatmentViewSet),
    ("treatment-areas", events.TreatmentAreaViewSet),
    ("occurrences", events.OccurrenceViewSet),
    ("effects", events.EffectViewSet),
    ("trace-kinds", terms.TraceKindViewSet),
    ("treatment-kinds", terms.TreatmentKindViewSet),
    ("occurrence-kinds", terms.OccurrenceKindViewSet),
    ("techniques", terms.TechniqueViewSet),
    ("materials", terms.MaterialViewSet),
    ("material-dates", terms.MaterialDateViewSet),
    ("sampling-points", sampling.SamplingPointViewSet),
    ("samples", sampling.SampleViewSet),
    ("preparations", sampling.PreparationViewSet),
    ("layers", sampling.LayerViewSet),
    ("numbering-rules", sampling.NumberingRuleViewSet),
    ("analyses", results.AnalysisViewSet),
    ("evaluations", evaluations.EvaluationViewSet),
    ("readings", results.ReadingViewSet),
    ("identifications", results.IdentificationViewSet),
    ("reconstructions", reconstructions.ReconstructionViewSet),
    ("set-aside", reconstructions.SetAsideViewSet),
    ("amendments", reconstructions.AmendmentViewSet),
    ("dossiers", dossiers.DossierViewSet),
]:
    router.register(name, viewset, basename=f"api-{name}")

urlpatterns = [
    path("token/", obtain_auth_token, name="api-token"),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("", include(router.urls)),
]
