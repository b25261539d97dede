"""What is printed: of a record its certificate and hand-tag, of a job its sheet, of a device its
history."""

import re

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from fleet import clock, permissions
from fleet.models import Device
from fleet.reports.due import DueList
from fleet.views.addresses import site_address
from fleet.views.guard import needs, require
from inspections.models import Inspection
from inspections.papers import certificate, device_history, job_sheet, tag
from inspections.reports.certificate import certificate_of
from inspections.reports.device import DeviceStory, story_of
from inspections.reports.hand_tag import hand_tag_of, why_no_tag
from inspections.reports.job_sheet import job_sheet_of

WITH = (
    "device__model",
    "position__equipment",
    "site",
    "done_by",
    "signed_by",
    "verified_by",
    "accepted_by",
    "recorded_by",
    "corrects",
)
NO_CERTIFICATE = "There is no certificate yet: a second person has not verified this record."


@needs(permissions.READ)
def inspection_certificate(request, pk):
    """Of a locked record; an open one has none, and the page says why."""
    row = _record(request, pk)
    if row.locked_at is None:
        return _none(request, row, NO_CERTIFICATE)
    return sent(certificate.pdf(certificate_of(row)), f"certificate {row.ref}")


@needs(permissions.READ)
def inspection_tag(request, pk):
    """The tag to hang on the device this record tested, with what it owes as of today."""
    row = _record(request, pk)
    if why := why_no_tag(row):
        return _none(request, row, f"There is no hand-tag of this record: {why}.")
    said = hand_tag_of(row, DueList(clock.today(), request.user))
    paper = tag.pdf(said, device_address(request, row.device_id))
    return sent(paper, f"tag {row.device.number}")


@needs(permissions.RECORD_JOB)
@require_safe
def bench_sheet(request, pk):
    """The sheet of an open job, with blanks for everything still to be read."""
    rows = Inspection.objects.visible_to(request.user).open().select_related(*WITH)
    job = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.RECORD_JOB, job.site_id)
    paper = job_sheet.pdf(job_sheet_of(job), clock.today())
    return sent(paper, f"job sheet {job.ref}")


@needs(permissions.READ)
def device_history_pdf(request, pk):
    """The settings history of a device as of today, drawn and in figures."""
    story = _story(request, pk)
    return sent(device_history.pdf(story), f"history {story.device.number}")


@needs(permissions.READ)
def device_history_svg(request, pk):
    """Its drawings alone, one file that stands without the site."""
    story = _story(request, pk)
    drawn = device_history.svg(story).encode()
    return sent(drawn, f"history {story.device.number}", "svg", "image/svg+xml")


def _story(request, pk) -> DeviceStory:
    rows = Device.objects.visible_to(request.user).select_related("model", "site")
    return story_of(get_object_or_404(rows, pk=pk), DueList(clock.today(), request.user))


def device_address(request: HttpRequest, pk: int) -> str:
    """The whole address of a device's page, as a phone in the plant reaches it."""
    return site_address(request) + reverse("device", args=[pk])


def _record(request, pk) -> Inspection:
    rows = Inspection.objects.visible_to(request.user).select_related(*WITH)
    return get_object_or_404(rows, pk=pk)


def _none(request, row: Inspection, words: str) -> HttpResponse:
    context = {"inspection": row, "words": words}
    return render(request, "inspections/no_paper.html", context, status=404)


def sent(
    paper: bytes, name: str, ending: str = "pdf", kind: str = "application/pdf"
) -> HttpResponse:
    """A paper for the browser to show and print; a name from outside cannot leave its quotes."""
    safe = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-")[:80]
    response = HttpResponse(paper, content_type=kind)
    response["Content-Disposition"] = f'inline; filename="{safe}.{ending}"'
    return response
