"""A large work pack, drawn in the background and kept as a file until the next one is made."""

import hashlib
from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models import QuerySet

from fleet import jobs
from fleet.models import Job, Outage, User
from fleet.reports.due import DueList
from inspections.papers import work_pack
from inspections.reports.work_pack import pack_of_outage

KIND = "work_pack"
MOST_AT_ONCE = 40  # visits drawn while somebody waits: about two seconds
Progress = Callable[[str, int, int], None]


def ask_for_pack(
    outage: Outage, on: date | None, *, address: str, as_of: date, by: User, at: datetime
) -> Job:
    """Have the pack made, unless one is being made already."""
    for job in packs_of(outage, on).filter(state__in=(Job.State.WAITING, Job.State.RUNNING)):
        if not jobs.is_stale(job):
            return job
        jobs.give_up(job, at=at)
    arguments = {
        "outage": outage.pk,
        "on": on.isoformat() if on else "",
        "as_of": as_of.isoformat(),
        "address": address,
    }
    return jobs.ask(KIND, arguments, by=by, at=at)


def packs_of(outage: Outage, on: date | None) -> QuerySet[Job]:
    """Those asked for, the last one first."""
    day = on.isoformat() if on else ""
    asked = Job.objects.filter(kind=KIND, arguments__outage=outage.pk, arguments__on=day)
    return asked.select_related("asked_by").order_by("-pk")


def make_pack(job: Job, progress: Progress, *, at: datetime) -> dict[str, Any]:
    """Draw it as whoever asked may see it, and let go of the ones before. Returns the result."""
    asked = job.arguments
    outages = Outage.objects.visible_to(job.asked_by).select_related("site")
    outage = outages.prefetch_related("units").get(pk=asked["outage"])
    on = date.fromisoformat(asked["on"]) if asked["on"] else None
    progress("reading the plan", 0, 0)
    due = DueList(date.fromisoformat(asked["as_of"]), job.asked_by)
    pack = pack_of_outage(outage, due, on, with_spares=True)
    paper = work_pack.pdf(pack, asked["address"], progress)
    stored_at = default_storage.save(f"work-packs/{job.pk}.pdf", ContentFile(paper))
    for before in packs_of(outage, on).filter(pk__lt=job.pk):
        if name := before.result.get("stored_at"):
            default_storage.delete(name)
    return {
        "stored_at": stored_at,
        "sha256": hashlib.sha256(paper).hexdigest(),
        "visits": len(pack.visits),
    }
