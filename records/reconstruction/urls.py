"""Addresses of the room of an object's history."""

from django.urls import path

from records.views import history, history_decisions

urlpatterns = [
    path("", history.TimelinePage.as_view(), name="object-history"),
    path("bounds", history.BoundsPage.as_view(), name="object-history-bounds"),
    path(
        "contradictions",
        history.ContradictionsPage.as_view(),
        name="object-history-contradictions",
    ),
    path("trust", history.TrustPage.as_view(), name="object-history-trust"),
    path("set-aside", history.AsidePage.as_view(), name="object-history-aside"),
    path(
        "set-aside/<str:evidence>",
        history_decisions.SetAsidePage.as_view(),
        name="object-history-set-aside",
    ),
    path(
        "bring-back/<int:aside>",
        history_decisions.BringBackPage.as_view(),
        name="object-history-bring-back",
    ),
    path("sequence", history.SequencePage.as_view(), name="object-history-sequence"),
    path("attribution", history.AttributionPage.as_view(), name="object-history-attribution"),
    path(
        "attribution/<int:trace>/accept/<int:treatment>",
        history_decisions.AcceptPage.as_view(),
        name="object-history-accept",
    ),
    path(
        "attribution/unrecorded/<int:number>",
        history_decisions.InferPage.as_view(),
        name="object-history-infer",
    ),
    path("day", history.DayPage.as_view(), name="object-history-day"),
    path("grounds/<str:entity>", history.GroundsPage.as_view(), name="object-history-grounds"),
    path("progress", history.ProgressPart.as_view(), name="object-history-progress"),
]
