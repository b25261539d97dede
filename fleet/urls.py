"""The register's addresses; the inspections app adds its own."""

from django.urls import include, path

from fleet.views import people

urlpatterns = [
    path("", people.home, name="home"),
    path("sign-in/", people.sign_in, name="sign_in"),
    path("sign-out/", people.sign_out, name="sign_out"),
    path("", include("inspections.urls")),
]
