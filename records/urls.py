"""Addresses of the records.

A page of one record is named after it (`trace`), its form `trace-edit`, adding one `trace-new`;
the rooms of an object are `object-surface`, `object-history` and so on.
"""

from django.urls import URLPattern, URLResolver, include, path

from records.trail import LISTS
from records.views import (
    accounts,
    arrivals,
    campaigns,
    carrying,
    comparing,
    dates,
    files,
    images,
    mosaics,
    objects,
    papers,
    people,
    placing,
    surface,
    tiles,
    traces,
    treatments,
    vocabulary,
)
from records.views.base import Amend, Sign, Withdraw

urlpatterns: list[URLPattern | URLResolver] = [
    path("dates/read", dates.read_date, name="read-date"),
    # objects
    path("objects/", objects.Objects.as_view(), name="objects"),
    path("objects/new", objects.NewObject.as_view(), name="object-new"),
    path("objects/<int:pk>/", objects.ObjectPage.as_view(), name="object"),
    path("objects/<int:pk>/condition", objects.Condition.as_view(), name="object-condition"),
    path("objects/<int:pk>/edit", objects.ChangeObject.as_view(), name="object-edit"),
    path("objects/<int:pk>/components/new", objects.NewComponent.as_view(), name="component-new"),
    path("components/<int:pk>/edit", objects.ChangeComponent.as_view(), name="component-edit"),
    path("objects/<int:pk>/faces/new", objects.NewFace.as_view(), name="face-new"),
    path("faces/<int:pk>/", objects.FacePage.as_view(), name="face"),
    path("faces/<int:pk>/edit", objects.ChangeFace.as_view(), name="face-edit"),
    path("faces/<int:pk>/zones/new", objects.NewZone.as_view(), name="zone-new"),
    path("zones/<int:pk>/", objects.ZonePage.as_view(), name="zone"),
    path("zones/<int:pk>/edit", objects.ChangeZone.as_view(), name="zone-edit"),
    # the surface
    path("objects/<int:pk>/surface/", surface.Surface.as_view(), name="object-surface"),
    path("faces/<int:pk>/shapes/traces", surface.TraceShapes.as_view(), name="face-trace-shapes"),
    path("faces/<int:pk>/shapes/<str:what>", surface.PlaceShapes.as_view(), name="face-shapes"),
    path("faces/<int:pk>/traces/", surface.FaceTraces.as_view(), name="face-traces"),
    path("faces/<int:pk>/draw/trace", surface.DrawTrace.as_view(), name="draw-trace"),
    path("faces/<int:pk>/traces.geojson", surface.SaveTraces.as_view(), name="face-traces-save"),
    path("faces/<int:pk>/draw/point", surface.DrawPoint.as_view(), name="draw-point"),
    path("faces/<int:pk>/draw/zone", surface.DrawZone.as_view(), name="draw-zone"),
    path("traces/<int:pk>/beside", surface.TraceBeside.as_view(), name="trace-beside"),
    path("traces/<int:pk>/draw", surface.DrawSighting.as_view(), name="draw-sighting"),
    path("places/<str:what>/<int:pk>/beside", surface.PlaceBeside.as_view(), name="place-beside"),
    # traces
    path("objects/<int:pk>/traces/", traces.ObjectTraces.as_view(), name="object-traces"),
    path("objects/<int:pk>/traces/pick", traces.PickTraces.as_view(), name="pick-traces"),
    path("faces/<int:pk>/traces/new", traces.NewTrace.as_view(), name="trace-new"),
    path("traces/<int:pk>/", traces.TracePage.as_view(), name="trace"),
    path("traces/<int:pk>/edit", traces.ChangeTrace.as_view(), name="trace-edit"),
    path("traces/<int:pk>/sightings/new", traces.NewSighting.as_view(), name="sighting-new"),
    path("sightings/<int:pk>/edit", traces.ChangeSighting.as_view(), name="sighting-edit"),
    path("traces/<int:pk>/relations/new", traces.NewRelation.as_view(), name="relation-new"),
    path("relations/<int:pk>/edit", traces.ChangeRelation.as_view(), name="relation-edit"),
    # images, campaigns, examinations
    path("objects/<int:pk>/images/", images.ObjectImages.as_view(), name="object-images"),
    path("objects/<int:pk>/images/new", arrivals.AddImages.as_view(), name="image-new"),
    path(
        "objects/<int:pk>/images/ingest/new",
        arrivals.TakeFromFolder.as_view(),
        name="image-ingest-new",
    ),
    path("objects/<int:pk>/arrivals/new", arrivals.ArrivalsOfObject.as_view(), name="arrival-new"),
    path("arrivals/<uuid:key>", arrivals.OneArrival.as_view(), name="arrival"),
    path("faces/<int:pk>/compare", comparing.Compare.as_view(), name="face-compare"),
    path("faces/<int:pk>/compare/along", comparing.ProfileAlong.as_view(), name="face-profile"),
    path(
        "faces/<int:pk>/compare/<int:first>-<int:second>.png",
        comparing.DifferencePicture.as_view(),
        name="face-difference",
    ),
    path("images/<int:pk>/", images.ImagePage.as_view(), name="image"),
    path("images/<int:pk>/edit", images.ChangeImage.as_view(), name="image-edit"),
    path("images/<int:pk>/window/edit", images.ChangeWindow.as_view(), name="image-window-edit"),
    path("images/<int:pk>/progress", images.ImageProgress.as_view(), name="image-progress"),
    path("images/<int:pk>/file", files.ImageFile.as_view(), name="image-file"),
    path("images/<int:pk>/small.jpg", tiles.image_small, name="image-small"),
    path("images/<int:pk>/iiif/<path:path>", tiles.image_tiles, name="image-tiles"),
    path("images/<int:pk>/placements/new", placing.NewPlacement.as_view(), name="placement-new"),
    path("images/<int:pk>/placements/fit", placing.Fit.as_view(), name="placement-fit"),
    path("images/<int:pk>/points/new", placing.ProposePoints.as_view(), name="points-new"),
    path("placements/<int:pk>/edit", placing.ChangePlacement.as_view(), name="placement-edit"),
    path("placements/<int:pk>/follow", placing.FollowReference.as_view(), name="placement-follow"),
    path("placements/<int:pk>/shapes", carrying.CarryShapes.as_view(), name="placement-shapes"),
    path("placements/<int:pk>/progress", placing.Redrawing.as_view(), name="placement-progress"),
    path("placements/<int:pk>/iiif/<path:path>", tiles.placement_tiles, name="placement-tiles"),
    path("objects/<int:pk>/campaigns/new", campaigns.NewCampaign.as_view(), name="campaign-new"),
    path("campaigns/<int:pk>/", campaigns.CampaignPage.as_view(), name="campaign"),
    path("campaigns/<int:pk>/edit", campaigns.ChangeCampaign.as_view(), name="campaign-edit"),
    path("campaigns/<int:pk>/phases/new", campaigns.NewPhase.as_view(), name="phase-new"),
    path(
        "campaigns/<int:pk>/examinations/new",
        campaigns.NewExamination.as_view(),
        name="examination-new",
    ),
    path("examinations/<int:pk>/", campaigns.ExaminationPage.as_view(), name="examination"),
    path(
        "examinations/<int:pk>/edit", campaigns.ChangeExamination.as_view(), name="examination-edit"
    ),
    path(
        "examinations/<int:pk>/coverage/new", campaigns.NewCoverage.as_view(), name="coverage-new"
    ),
    path("examinations/<int:pk>/mosaics/new", mosaics.NewMosaic.as_view(), name="mosaic-new"),
    path("mosaics/<int:pk>/", mosaics.MosaicPage.as_view(), name="mosaic"),
    path("mosaics/<int:pk>/edit", mosaics.ChangeMosaic.as_view(), name="mosaic-edit"),
    path(
        "mosaics/<int:pk>/frames/<int:frame>.jpg",
        mosaics.FrameSmall.as_view(),
        name="mosaic-frame-small",
    ),
    path("mosaics/<int:pk>/report.json", mosaics.MosaicReport.as_view(), name="mosaic-report"),
    path("coverage/<int:pk>/edit", campaigns.ChangeCoverage.as_view(), name="coverage-edit"),
    path("techniques/cautions", campaigns.Cautions.as_view(), name="technique-cautions"),
    # papers
    path("objects/<int:pk>/papers/", papers.ObjectPapers.as_view(), name="object-papers"),
    path("objects/<int:pk>/papers/new", papers.NewSource.as_view(), name="source-new"),
    path("papers/<int:pk>/", papers.SourcePage.as_view(), name="source"),
    path("papers/<int:pk>/edit", papers.ChangeSource.as_view(), name="source-edit"),
    path("papers/<int:pk>/scan", files.SourceScan.as_view(), name="source-scan"),
    path("papers/<int:pk>/statements/new", papers.NewStatement.as_view(), name="statement-new"),
    path("statements/<int:pk>/", papers.StatementPage.as_view(), name="statement"),
    path("statements/<int:pk>/edit", papers.ChangeStatement.as_view(), name="statement-edit"),
    # treatments and other occurrences
    path(
        "objects/<int:pk>/treatments/",
        treatments.ObjectTreatments.as_view(),
        name="object-treatments",
    ),
    path(
        "objects/<int:pk>/treatments/new", treatments.NewTreatment.as_view(), name="treatment-new"
    ),
    path("treatments/<int:pk>/", treatments.TreatmentPage.as_view(), name="treatment"),
    path("treatments/<int:pk>/edit", treatments.ChangeTreatment.as_view(), name="treatment-edit"),
    path(
        "treatments/<int:pk>/effects/new",
        treatments.NewEffectOfTreatment.as_view(),
        name="treatment-effect-new",
    ),
    path("treatments/<int:pk>/areas/new", treatments.NewArea.as_view(), name="area-new"),
    path("areas/<int:pk>/edit", treatments.ChangeArea.as_view(), name="area-edit"),
    path(
        "objects/<int:pk>/occurrences/new",
        treatments.NewOccurrence.as_view(),
        name="occurrence-new",
    ),
    path("occurrences/<int:pk>/", treatments.OccurrencePage.as_view(), name="occurrence"),
    path(
        "occurrences/<int:pk>/edit", treatments.ChangeOccurrence.as_view(), name="occurrence-edit"
    ),
    path(
        "occurrences/<int:pk>/effects/new",
        treatments.NewEffectOfOccurrence.as_view(),
        name="occurrence-effect-new",
    ),
    path("effects/<int:pk>/edit", treatments.ChangeEffect.as_view(), name="effect-edit"),
    # people and vocabularies
    path("accounts/", accounts.accounts, name="accounts"),
    path("accounts/new", accounts.new_account, name="account-new"),
    path("accounts/<int:pk>/edit", accounts.change_account, name="account-edit"),
    path("accounts/<int:pk>/password", accounts.set_password, name="account-password"),
    path("people/", people.People.as_view(), name="people"),
    path("people/new", people.NewPerson.as_view(), name="person-new"),
    path("people/<int:pk>/", people.PersonPage.as_view(), name="person"),
    path("people/<int:pk>/edit", people.ChangePerson.as_view(), name="person-edit"),
    path("vocabulary/", vocabulary.Vocabulary.as_view(), name="vocabulary"),
    path(
        "vocabulary/materials/<int:pk>/dates/new",
        vocabulary.NewMaterialDate.as_view(),
        name="material-date-new",
    ),
    path(
        "material-dates/<int:pk>/edit",
        vocabulary.ChangeMaterialDate.as_view(),
        name="material-date-edit",
    ),
    # deeds on any kind of record
    path("withdraw/<str:app>/<str:model>/<int:pk>", Withdraw.as_view(), name="withdraw"),
    path("sign/<str:app>/<str:model>/<int:pk>", Sign.as_view(), name="sign"),
    path("amend/<str:app>/<str:model>/<int:pk>", Amend.as_view(), name="amend"),
]


def terms(scheme: vocabulary.Scheme) -> list[URLPattern]:
    """The addresses of one vocabulary: its list, and a page and forms for each term."""
    many = LISTS[scheme.model][1]
    one, at = many.removesuffix("s"), f"vocabulary/{many}/"
    new = vocabulary.NewTerm.as_view(form_class=scheme.form_class)
    edit = vocabulary.ChangeTerm.as_view(form_class=scheme.form_class)
    return [
        path(at, vocabulary.Terms.as_view(scheme=scheme), name=many),
        path(f"{at}new", new, name=f"{one}-new"),
        path(f"{at}<int:pk>/", vocabulary.TermPage.as_view(model=scheme.model), name=one),
        path(f"{at}<int:pk>/edit", edit, name=f"{one}-edit"),
    ]


urlpatterns += [address for scheme in vocabulary.SCHEMES for address in terms(scheme)]
urlpatterns.append(path("", include("records.imports.urls")))
urlpatterns.append(path("objects/<int:pk>/history/", include("records.reconstruction.urls")))
