"""Addresses of the laboratory."""

from django.urls import URLPattern, URLResolver, include, path

from analyses import trail  # noqa: F401  (tells the pages where these records belong)
from analyses.views import (
    elements,
    evaluations,
    proposals,
    references,
    results,
    sampling,
    sections,
)
from analyses.views.laboratory import ObjectLaboratory

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("analyses.imports.urls")),
    path("objects/<int:pk>/laboratory/", ObjectLaboratory.as_view(), name="object-laboratory"),
    path("laboratory/numbering", sampling.DepartmentNumbering.as_view(), name="numbering"),
    path("laboratory/references/", references.References.as_view(), name="references"),
    path("objects/<int:pk>/layers/", sections.Correlate.as_view(), name="layers-correlate"),
    # sampling points, samples, preparations, layers
    path(
        "objects/<int:pk>/laboratory/sampling", sampling.Sampling.as_view(), name="object-sampling"
    ),
    path(
        "objects/<int:pk>/laboratory/numbering",
        sampling.ChangeNumbering.as_view(),
        name="numbering-edit",
    ),
    path(
        "faces/<int:pk>/sampling-points/new",
        sampling.NewSamplingPoint.as_view(),
        name="sampling-point-new",
    ),
    path("sampling-points/<int:pk>/", sampling.SamplingPointPage.as_view(), name="sampling-point"),
    path(
        "sampling-points/<int:pk>/edit",
        sampling.ChangeSamplingPoint.as_view(),
        name="sampling-point-edit",
    ),
    path("sampling-points/<int:pk>/samples/new", sampling.NewSample.as_view(), name="sample-new"),
    path("samples/<int:pk>/", sampling.SamplePage.as_view(), name="sample"),
    path("samples/<int:pk>/edit", sampling.ChangeSample.as_view(), name="sample-edit"),
    path(
        "samples/<int:pk>/preparations/new",
        sampling.NewPreparation.as_view(),
        name="preparation-new",
    ),
    path("preparations/<int:pk>/", sampling.PreparationPage.as_view(), name="preparation"),
    path(
        "preparations/<int:pk>/edit", sampling.ChangePreparation.as_view(), name="preparation-edit"
    ),
    path("preparations/<int:pk>/layers/", sampling.EditLayers.as_view(), name="layers-edit"),
    path("preparations/<int:pk>/section", sections.EditSection.as_view(), name="section-edit"),
    path("preparations/<int:pk>/measures", sections.TakeMeasures.as_view(), name="measures-edit"),
    path("preparations/<int:pk>/layers/new", sampling.NewLayer.as_view(), name="layer-new"),
    path("layers/<int:pk>/", sampling.LayerPage.as_view(), name="layer"),
    path("layers/<int:pk>/edit", sampling.ChangeLayer.as_view(), name="layer-edit"),
    # analyses and readings
    path(
        "sampling-points/<int:pk>/analyses/new",
        results.NewAnalysisOfPoint.as_view(),
        name="point-analysis-new",
    ),
    path(
        "samples/<int:pk>/analyses/new",
        results.NewAnalysisOfSample.as_view(),
        name="sample-analysis-new",
    ),
    path(
        "layers/<int:pk>/analyses/new",
        results.NewAnalysisOfLayer.as_view(),
        name="layer-analysis-new",
    ),
    path("analyses/<int:pk>/", results.AnalysisPage.as_view(), name="analysis"),
    path("analyses/<int:pk>/edit", results.ChangeAnalysis.as_view(), name="analysis-edit"),
    path("analyses/<int:pk>/columns", results.ChooseColumns.as_view(), name="analysis-columns"),
    path("analyses/<int:pk>/raw", results.RawFile.as_view(), name="analysis-raw"),
    path("analyses/<int:pk>/readings/new", results.NewReading.as_view(), name="reading-new"),
    path("readings/<int:pk>/edit", results.ChangeReading.as_view(), name="reading-edit"),
    path(
        "analyses/<int:pk>/evaluation", evaluations.Evaluate.as_view(), name="analysis-evaluation"
    ),
    path(
        "analyses/<int:pk>/evaluate",
        evaluations.AskForEvaluation.as_view(),
        name="analysis-evaluate",
    ),
    path(
        "analyses/<int:pk>/spectrum", evaluations.SpectrumData.as_view(), name="analysis-spectrum"
    ),
    path(
        "analyses/<int:pk>/figure.<slug:form>",
        evaluations.Figure.as_view(),
        name="analysis-figure",
    ),
    path("evaluations/<int:pk>/take", evaluations.TakeReadings.as_view(), name="evaluation-take"),
    path(
        "lines-of-element/<str:symbol>/",
        evaluations.LinesOfElement.as_view(),
        name="lines-of-element",
    ),
    path(
        "objects/<int:pk>/laboratory/curves",
        evaluations.CompareSpectra.as_view(),
        name="object-curves",
    ),
    path(
        "objects/<int:pk>/laboratory/where-read", elements.ReadingMap.as_view(), name="reading-map"
    ),
    # proposals
    path(
        "layers/<int:pk>/proposals", proposals.ProposalsForLayer.as_view(), name="layer-proposals"
    ),
    path(
        "samples/<int:pk>/proposals",
        proposals.ProposalsForSample.as_view(),
        name="sample-proposals",
    ),
    path(
        "sampling-points/<int:pk>/proposals",
        proposals.ProposalsAtPoint.as_view(),
        name="point-proposals",
    ),
    # identifications
    path(
        "sampling-points/<int:pk>/identifications/new",
        results.NewIdentificationAtPoint.as_view(),
        name="point-identification-new",
    ),
    path(
        "samples/<int:pk>/identifications/new",
        results.NewIdentificationInSample.as_view(),
        name="sample-identification-new",
    ),
    path(
        "layers/<int:pk>/identifications/new",
        results.NewIdentificationInLayer.as_view(),
        name="layer-identification-new",
    ),
    path("identifications/<int:pk>/", results.IdentificationPage.as_view(), name="identification"),
    path(
        "identifications/<int:pk>/edit",
        results.ChangeIdentification.as_view(),
        name="identification-edit",
    ),
    path("identifications/<int:pk>/decide", results.Decide.as_view(), name="decide"),
]
