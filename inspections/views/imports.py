"""Loading a workbook through the site: send it, see what it would do, confirm."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, jobs
from fleet.faults import FAULT, FINDING, NOTE
from fleet.models import Job
from fleet.permissions import LOAD_WORKBOOK
from fleet.views.guard import needs, require
from inspections.exchange.uploads import KIND, keep_upload, said_of
from inspections.forms.imports import UploadForm

RUNNING = (Job.State.WAITING, Job.State.RUNNING)


@needs(LOAD_WORKBOOK)
def import_upload(request):
    """Send a workbook; it is read at once, and nothing is written yet."""
    form = UploadForm(request.POST or None, request.FILES or None, user=request.user)
    if request.method == "POST" and form.is_valid():
        site, at = form.cleaned_data["site"], clock.now()
        require(request.user, LOAD_WORKBOOK, site.pk)
        upload = keep_upload(form.cleaned_data["workbook"], site, by=request.user, at=at)
        arguments = form.options() | {"dry_run": True}
        job = jobs.ask(KIND, arguments, by=request.user, at=at, upload=upload)
        return redirect("import_report", pk=job.pk)
    recent = _jobs(request).order_by("-pk")[:10]
    status = 422 if form.errors else 200
    return render(
        request, "inspections/import_upload.html", {"form": form, "recent": recent}, status=status
    )


@needs(LOAD_WORKBOOK)
@require_safe
def import_report(request, pk):
    """Where the load stands, and when it has ended what it found and did."""
    job = _job(request, pk)
    if jobs.is_stale(job):
        jobs.give_up(job, at=clock.now())
        job.refresh_from_db()
    result = job.result or {}
    totals = result.get("totals", {})
    context = {
        "job": job,
        "is_running": job.state in RUNNING,
        "beat": jobs.read_beat(job.pk),
        "is_dry_run": job.arguments.get("dry_run", False),
        "faults": said_of(result, FAULT),
        "findings": said_of(result, FINDING),
        "notes": said_of(result, NOTE),
        "totals": {word: totals.get(word, 0) for word in (FAULT, FINDING, NOTE)},
        "counts": result.get("counts", {}),
        "sheets": result.get("sheets", {}),
    }
    part = "import_state.html" if request.htmx else "import_report.html"
    return render(request, f"inspections/{part}", context)


@needs(LOAD_WORKBOOK)
@require_POST
def import_confirm(request, pk):
    """Load what the dry run showed. The load looks at everything again before it writes."""
    tried = _job(request, pk)
    if not _may_confirm(tried):
        messages.error(request, "This workbook cannot be loaded as it is; nothing was written.")
        return redirect("import_report", pk=tried.pk)
    done = tried.upload.jobs.filter(kind=KIND, arguments__dry_run=False)
    done = done.exclude(state__in=(Job.State.FAILED, Job.State.CANCELLED)).first()
    if done is None:
        arguments = tried.arguments | {"dry_run": False}
        done = jobs.ask(KIND, arguments, by=request.user, at=clock.now(), upload=tried.upload)
    return redirect("import_report", pk=done.pk)


@needs(LOAD_WORKBOOK)
@require_POST
def import_cancel(request, pk):
    """Stop a load that runs; what it had written so far is undone."""
    job = _job(request, pk)
    if job.state in RUNNING:
        jobs.cancel(job, at=clock.now())
    return redirect("import_report", pk=job.pk)


def _may_confirm(job):
    faults = (job.result or {}).get("totals", {}).get(FAULT, 0)
    return job.state == Job.State.DONE and job.arguments.get("dry_run") and not faults


def _jobs(request):
    mine = [pk for pk in request.user.site_ids() if request.user.may(LOAD_WORKBOOK, pk)]
    rows = Job.objects.visible_to(request.user).filter(kind=KIND, upload__site__in=mine)
    return rows.select_related("upload__site", "asked_by")


def _job(request, pk):
    rows = Job.objects.visible_to(request.user).filter(kind=KIND)
    job = get_object_or_404(rows.select_related("upload__site", "asked_by"), pk=pk)
    require(request.user, LOAD_WORKBOOK, job.upload.site_id)
    return job
