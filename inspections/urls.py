"""The addresses of bench, records, reviews and lists."""

from django.urls import path

from inspections.views import (
    answers,
    bench,
    compliance,
    devices,
    fitting,
    imports,
    positions,
    proposals,
    records,
    search,
    settings_review,
)

urlpatterns = [
    path("register/", positions.register, name="register"),
    path("devices/", positions.devices, name="devices"),
    path("devices/<int:pk>/", devices.device, name="device"),
    path("settings-review/", settings_review.settings_review, name="settings_review"),
    path("compliance/", compliance.compliance_list, name="compliance_list"),
    path("positions/<int:pk>/", positions.position, name="position"),
    path("positions/<int:pk>/fit/", fitting.device_fit, name="device_fit"),
    path("positions/<int:pk>/take-out/", fitting.device_take_out, name="device_take_out"),
    path("installations/<int:pk>/void/", fitting.installation_void, name="installation_void"),
    path("search/", search.search, name="search"),
    path("bench/", bench.bench, name="bench"),
    path("bench/start/", bench.bench_start, name="bench_start"),
    path("bench/<int:pk>/sign/", bench.bench_sign, name="bench_sign"),
    path("bench/<int:pk>/compare/<slug:setting>/", answers.bench_compare, name="bench_compare"),
    path("bench/<int:pk>/judge/<slug:stage>/", answers.bench_judge, name="bench_judge"),
    path("bench/<int:pk>/<slug:step>/", bench.bench_step, name="bench_step"),
    path("inspections/<int:pk>/", records.inspection, name="inspection"),
    path("inspections/<int:pk>/verify/", records.inspection_verify, name="inspection_verify"),
    path("inspections/<int:pk>/correct/", records.inspection_correct, name="inspection_correct"),
    path("questions/<int:pk>/answer/", records.question_answer, name="question_answer"),
    path("proposals/", proposals.proposals, name="proposals"),
    path("proposals/<int:pk>/", proposals.proposal, name="proposal"),
    path("proposals/<int:pk>/accept/", proposals.proposal_accept, name="proposal_accept"),
    path("proposals/<int:pk>/decline/", proposals.proposal_decline, name="proposal_decline"),
    path("import/", imports.import_upload, name="import_upload"),
    path("import/<int:pk>/", imports.import_report, name="import_report"),
    path("import/<int:pk>/confirm/", imports.import_confirm, name="import_confirm"),
    path("import/<int:pk>/cancel/", imports.import_cancel, name="import_cancel"),
]
