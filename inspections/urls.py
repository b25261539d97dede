"""The addresses of bench, records, reviews and lists."""

from django.urls import path

from inspections.views import imports, positions, search

urlpatterns = [
    path("register/", positions.register, name="register"),
    path("devices/", positions.devices, name="devices"),
    path("positions/<int:pk>/", positions.position, name="position"),
    path("search/", search.search, name="search"),
    path("import/", imports.import_upload, name="import_upload"),
    path("import/<int:pk>/", imports.import_report, name="import_report"),
    path("import/<int:pk>/confirm/", imports.import_confirm, name="import_confirm"),
    path("import/<int:pk>/cancel/", imports.import_cancel, name="import_cancel"),
]
