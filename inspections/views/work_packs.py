"""The work pack of an outage, of one of its days, or of one planned line."""

from collections import Counter
from datetime import date
from pathlib import Path

from django.core.files.storage import default_storage
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from fleet import clock, jobs, permissions
from fleet.models import Job, Outage, PlannedJob
from fleet.reports.due import DueList
from fleet.views.addresses import site_address
from fleet.views.guard import needs, require
from inspections.papers import work_pack
from inspections.papers.pack_job import KIND, MOST_AT_ONCE, ask_for_pack, packs_of
from inspections.reports.work_pack import Pack, pack_of_job, pack_of_outage
from inspections.views.papers import sent

RUNNING = (Job.State.WAITING, Job.State.RUNNING)


@needs(permissions.READ)
def outage_pack(request, pk):
    """What the pack would hold, its days, and where the making of a large one stands."""
    outage, on = _outage(request, pk), _day(request)
    pack = _pack(request, outage, on)
    job = packs_of(outage, on).first()
    if job is not None and jobs.is_stale(job):
        jobs.give_up(job, at=clock.now())
        job.refresh_from_db()
    words, is_in_force = work_pack.source_words(pack)
    days = Counter(visit.planned_on for visit in pack.visits if visit.is_planned)
    context = {
        "outage": outage,
        "on": on,
        "pack": pack,
        "source": words,
        "is_in_force": is_in_force,
        "days": sorted(days.items()),
        "is_large": len(pack.visits) > MOST_AT_ONCE,
        "job": job,
        "is_running": job is not None and job.state in RUNNING,
        "beat": jobs.read_beat(job.pk) if job else None,
        "may_print": request.user.may(permissions.PRINT_PACK, outage.site_id),
    }
    part = "pack_state.html" if request.htmx else "outage_pack.html"
    return render(request, f"inspections/{part}", context)


@needs(permissions.READ)
def outage_pack_pdf(request, pk):
    """At once where it is small; a large one is made in the background, from its page."""
    outage, on = _outage(request, pk), _day(request)
    pack = _pack(request, outage, on, with_spares=True)
    if len(pack.visits) > MOST_AT_ONCE:
        return redirect(_page(outage, on))
    day = f" {on}" if on else ""
    return sent(work_pack.pdf(pack, site_address(request)), f"work pack {outage}{day}")


@needs(permissions.PRINT_PACK)
@require_POST
def outage_pack_new(request, pk):
    """Have a large pack made; a small one is there for the asking."""
    outage, on = _outage(request, pk), _day(request)
    require(request.user, permissions.PRINT_PACK, outage.site_id)
    if len(_pack(request, outage, on).visits) > MOST_AT_ONCE:
        address, today = site_address(request), clock.today()
        ask_for_pack(outage, on, address=address, as_of=today, by=request.user, at=clock.now())
    return redirect(_page(outage, on))


@needs(permissions.PRINT_PACK)
@require_POST
def pack_cancel(request, pk):
    """Stop the making of a pack."""
    job, outage = _job(request, pk)
    require(request.user, permissions.PRINT_PACK, outage.site_id)
    if job.state in RUNNING:
        jobs.cancel(job, at=clock.now())
    return redirect(_page(outage, _read_day(job.arguments["on"])))


@needs(permissions.READ)
def pack_file(request, pk):
    """A pack that was made, to whoever sees its outage."""
    job, outage = _job(request, pk)
    name = job.result.get("stored_at", "")
    path = Path(default_storage.path(name)) if name else None
    if path is None or not path.is_file():
        raise Http404
    answer = FileResponse(path.open("rb"), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="work-pack-{outage.pk}.pdf"'
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-cache"
    return answer


@needs(permissions.READ)
def planned_pack(request, pk):
    """The page of one planned line: the whole visit that it is part of."""
    rows = PlannedJob.objects.visible_to(request.user)
    rows = rows.select_related("plan__site", "plan__accepted_by", "outage", "position")
    job = get_object_or_404(rows, pk=pk)
    if job.planned_on is None:
        raise Http404
    pack = pack_of_job(job, DueList(clock.today(), request.user))
    return sent(work_pack.pdf(pack, site_address(request)), f"work pack {job.position}")


def _outage(request, pk: int) -> Outage:
    outages = Outage.objects.visible_to(request.user).select_related("site")
    return get_object_or_404(outages.prefetch_related("units"), pk=pk)


def _job(request, pk: int) -> tuple[Job, Outage]:
    job = get_object_or_404(Job.objects.filter(kind=KIND), pk=pk)
    return job, _outage(request, job.arguments["outage"])


def _pack(request, outage: Outage, on: date | None, *, with_spares: bool = False) -> Pack:
    due = DueList(clock.today(), request.user)
    return pack_of_outage(outage, due, on, with_spares=with_spares)


def _day(request) -> date | None:
    """The one day asked for; an address that names none that there is leads nowhere."""
    return _read_day(request.GET.get("on", ""))


def _read_day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise Http404 from error


def _page(outage: Outage, on: date | None) -> str:
    return reverse("outage_pack", args=[outage.pk]) + (f"?on={on}" if on else "")
