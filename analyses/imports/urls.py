"""Addresses of the import of samples, results and raw files."""

from django.urls import path, re_path

from analyses.views import imports

urlpatterns = [
    path("import/results/guide", imports.ResultsGuide.as_view(), name="import-results-guide"),
    re_path(
        r"^import/results/example\.(?P<form>csv|xlsx)$",
        imports.ResultsExample.as_view(),
        name="import-results-example",
    ),
    path("import/raw-files/guide", imports.RawFilesGuide.as_view(), name="import-raw-files-guide"),
    path(
        "objects/<int:pk>/import/raw-files",
        imports.RawFilesImport.as_view(),
        name="import-raw-files",
    ),
    path(
        "objects/<int:pk>/import/raw-files/<uuid:change>",
        imports.RawFilesReport.as_view(),
        name="import-raw-files-report",
    ),
    path("objects/<int:pk>/import/results", imports.ResultsImport.as_view(), name="import-results"),
]
