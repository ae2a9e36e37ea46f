"""The installation's addresses: each app keeps its own."""

from django.conf import settings
from django.contrib.auth import views as auth
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path
from django.views.generic import RedirectView

# Browsers ask for it by that name beside files that name no icon of their own, such as PDFs.
icon = RedirectView.as_view(url=f"{settings.STATIC_URL}records/mark.svg", permanent=True)

urlpatterns = [
    path("favicon.ico", login_not_required(icon)),
    path("login/", auth.LoginView.as_view(redirect_authenticated_user=True), name="login"),
    path("logout/", auth.LogoutView.as_view(), name="logout"),
    path("api/", include("deploy.api")),
    path("", include("records.urls")),
    path("", include("analyses.urls")),
    path("", include("reports.urls")),
]
