"""Addresses of the imports."""

from django.urls import path

from records.views import imports

urlpatterns = [
    path("import/", imports.Imports.as_view(), name="import"),
    path("import/survey/guide", imports.SurveyGuide.as_view(), name="import-survey-guide"),
    path("import/survey/example", imports.SurveyExample.as_view(), name="import-survey-example"),
    path("objects/<int:pk>/import/survey", imports.SurveyImport.as_view(), name="import-survey"),
]
