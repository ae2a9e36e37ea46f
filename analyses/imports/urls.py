"""Addresses of the import of samples and results."""

from django.urls import path, re_path

from analyses.views import imports

urlpatterns = [
    path("import/results/guide", imports.ResultsGuide.as_view(), name="import-results-guide"),
    re_path(
        r"^import/results/example\.(?P<form>csv|xlsx)$",
        imports.ResultsExample.as_view(),
        name="import-results-example",
    ),
    path("objects/<int:pk>/import/results", imports.ResultsImport.as_view(), name="import-results"),
]
