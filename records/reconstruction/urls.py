"""Addresses of the room of an object's history."""

from django.urls import path

from records.views import history

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
        history.SetAsidePage.as_view(),
        name="object-history-set-aside",
    ),
    path(
        "bring-back/<int:aside>",
        history.BringBackPage.as_view(),
        name="object-history-bring-back",
    ),
    path("grounds/<str:entity>", history.GroundsPage.as_view(), name="object-history-grounds"),
    path("progress", history.ProgressPart.as_view(), name="object-history-progress"),
]
