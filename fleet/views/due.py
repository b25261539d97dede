"""The due list: what is owed, by when, and in which outage it goes."""

from dataclasses import dataclass

from django.http import HttpResponseBadRequest
from django.shortcuts import render

from fleet import clock, permissions
from fleet.filters import DueFilter
from fleet.listing import export_asked, paged, sort_asked
from fleet.models import Proposal
from fleet.reports.due import COLUMNS, SORTS, DueList
from fleet.reports.due_ask import NO_OPPORTUNITY
from fleet.tables import DueTable
from fleet.templatetags.tables import address_with
from fleet.views.guard import needs


@dataclass(frozen=True)
class Figure:
    """One figure above the list, and the address that shows what it counts."""

    status: str
    number: int
    words: str
    tone: str
    url: str
    is_here: bool


FIGURES = (
    ("overdue", "overdue", "late"),
    ("overdue_deferred", "past date, deferred", "late"),
    ("due_soon", "due within {days} days", "soon"),
    (NO_OPPORTUNITY, "no outage in time", "soon"),
    ("no_record", "no record", "late"),
    ("no_device", "no device fitted", "soon"),
    ("no_obligation", "nothing listed", "soon"),
    ("interval_not_set", "interval not set", "soon"),
)


@needs(permissions.READ)
def due_list(request):
    """One row per obligation, and one for every position nobody has listed anything for."""
    asks = DueFilter(request.GET, user=request.user)
    due = DueList(asks.day(), request.user, asks.ask())
    sort = sort_asked(request, SORTS, "due_on")
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    exported = export_asked(
        request,
        f"due-list-{due.as_of}",
        COLUMNS,
        lambda: (row.as_dict() for row in due.every_row(sort)),
        lambda: {"as_of": due.as_of, **due.counts()},
    )
    if exported:
        return exported
    counts = due.counts()
    context = {
        "table": paged(request, DueTable(due)),
        "asks": asks,
        "as_of": due.as_of,
        "is_today": due.as_of == clock.today(),
        "all": counts["all"],
        "figures": figures(request, counts, due.seen.soon_days),
        "exports": exports_of(request),
        "proposed": Proposal.objects.visible_to(request.user).open_on(due.as_of).count(),
        "with_proposal": address_with(request, {"proposal": "open", "page": None}),
    }
    return render(request, "fleet/due_list.html", context)


def figures(request, counts: dict[str, int], soon_days: int) -> list[Figure]:
    """What stands out, most pressing first; a figure of nothing is left out."""
    here = request.GET.get("status", "")
    return [
        Figure(
            status,
            counts.get(status, 0),
            words.format(days=soon_days),
            tone if counts.get(status) else "",
            address_with(request, {"status": None if status == here else status, "page": None}),
            status == here,
        )
        for status, words, tone in FIGURES
        if counts.get(status) or status == here or status in ("overdue", NO_OPPORTUNITY)
    ]


def exports_of(request) -> list[tuple[str, str]]:
    """(words, address) of each format, keeping filter and sort."""
    return [
        (kind.upper(), address_with(request, {"export": kind, "page": None}))
        for kind in ("csv", "xlsx", "json")
    ]
