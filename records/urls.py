"""Addresses of the records."""

from django.urls import path

from records.views import dates

urlpatterns = [
    path("dates/read", dates.read_date, name="read-date"),
]
