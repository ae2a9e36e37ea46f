"""The installation's addresses: each app keeps its own."""

from django.contrib.auth import views as auth
from django.urls import include, path

urlpatterns = [
    path("login/", auth.LoginView.as_view(redirect_authenticated_user=True), name="login"),
    path("logout/", auth.LogoutView.as_view(), name="logout"),
    path("api/", include("deploy.api")),
    path("", include("records.urls")),
    path("", include("analyses.urls")),
    path("", include("reports.urls")),
]
