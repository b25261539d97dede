"""The addresses of bench, records, reviews and lists."""

from django.urls import path

from inspections.views import positions, search

urlpatterns = [
    path("register/", positions.register, name="register"),
    path("devices/", positions.devices, name="devices"),
    path("positions/<int:pk>/", positions.position, name="position"),
    path("search/", search.search, name="search"),
]
