"""The settings review: which devices will not stay where we put them."""

from dataclasses import dataclass
from datetime import date, datetime

from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import render

from fleet import clock, jobs, permissions
from fleet.drawings.states import state_of
from fleet.jobs import read_beat
from fleet.listing import export_asked, paged, sort_asked
from fleet.models import Job, Proposal, User
from fleet.templatetags.tables import address_with
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.filters import SettingsFilter
from inspections.kept.catching_up import catch_up_if_few
from inspections.kept.job import KIND
from inspections.reports.settings import COLUMNS, undated_count
from inspections.reports.settings_ask import SORTS
from inspections.reports.settings_kept import KeptReview
from inspections.tables import SettingsTable

PER_PAGE = 25


@dataclass(frozen=True)
class Figure:
    """One figure above the list, and the address that shows what it counts."""

    number: int
    words: str
    tone: str
    url: str
    is_here: bool


@needs(permissions.READ)
def settings_review(request):
    """One row per device and setting, flagged ones first, each with its reason and its years."""
    asks = SettingsFilter(request.GET, user=request.user)
    day = asks.day()
    past = day if day != clock.today() else None
    stands = catch_up_if_few(at=clock.now(), day=past)
    listing = KeptReview(day, stands.screening, request.user, asks.ask())
    under_way = None
    if not stands.is_busy and (stands.is_behind or not stands.is_screened):
        under_way = catch_up_in_background(past, by=request.user, at=clock.now())
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    if past and not stands.is_made and "export" in request.GET:
        return HttpResponse("Not exported: that day is still being worked out.", status=503)
    exported = export_asked(
        request,
        f"settings-review-{day}",
        COLUMNS,
        lambda: (row.as_dict() for row in listing.every_row(sort_asked(request, SORTS, ""))),
        listing.summary,
    )
    if exported:
        return exported
    tally = listing.tally()
    context = {
        "table": paged(request, SettingsTable(listing), per_page=PER_PAGE),
        "asks": asks,
        "as_of": day,
        "is_today": past is None,
        "made": read_beat(under_way.pk) if under_way else None,
        "stands": stands,
        "tally": tally,
        "undated": undated_count(request.user),
        "figures": figures(request, tally.counts),
        "exports": exports_of(request),
        "proposed": Proposal.objects.visible_to(request.user).open_on(clock.today()).count(),
    }
    return render(request, "inspections/settings_review.html", context)


def catch_up_in_background(day: date | None, *, by: User, at: datetime) -> Job | None:
    """Have the rest made again in a process of its own, unless one is at it already: one for today,
    and one for whichever past day. Answers the one that is at this day."""
    wanted = day.isoformat() if day else ""
    under_way = Job.objects.filter(kind=KIND, state__in=(Job.State.WAITING, Job.State.RUNNING))
    for job in under_way:
        asked = job.arguments.get("day", "")
        if bool(asked) != bool(wanted):
            continue
        if not jobs.is_stale(job):
            return job if asked == wanted else None
        jobs.give_up(job, at=at)
    return jobs.ask(KIND, {"day": wanted}, by=by, at=at)


def figures(request, counts: dict[str, int]) -> list[Figure]:
    """How many settings show each flag; one that nothing shows is left out."""
    here = request.GET.get("flag", "")
    return [
        Figure(
            number,
            state_of(code).words,
            state_of(code).tone,
            address_with(request, {"flag": None if code == here else code, "page": None}),
            code == here,
        )
        for code, number in counts.items()
        if number or code == here
    ]
