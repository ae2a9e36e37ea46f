"""Addresses of the reports."""

from django.urls import URLPattern, URLResolver, path

from reports.views import dossiers
from reports.views.desk import desk, waiting
from reports.views.sheets import examination_sheet

urlpatterns: list[URLPattern | URLResolver] = [
    path("", desk, name="desk"),
    path("desk/<slug:slug>/", waiting, name="waiting"),
    path("objects/<int:pk>/dossiers/", dossiers.ObjectDossiers.as_view(), name="object-dossiers"),
    path("dossiers/", dossiers.Dossiers.as_view(), name="dossiers"),
    path("dossiers/verify", dossiers.Verify.as_view(), name="dossiers-verify"),
    path("dossiers/<int:pk>/", dossiers.dossier, name="dossier"),
    path("dossiers/<int:pk>/file", dossiers.dossier_file, name="dossier-file"),
    path("dossiers/<int:pk>/verify", dossiers.Verify.as_view(), name="dossier-verify"),
    path("dossiers/<int:pk>/again", dossiers.ask_again, name="dossier-again"),
    path("dossiers/<int:pk>/sign", dossiers.sign, name="dossier-sign"),
    path("examinations/<int:pk>/sheet.pdf", examination_sheet, name="examination-sheet"),
]
