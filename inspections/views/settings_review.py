"""The settings review: which devices will not stay where we put them."""

from dataclasses import dataclass

from django.http import HttpResponseBadRequest
from django.shortcuts import render

from fleet import clock, permissions
from fleet.drawings.states import state_of
from fleet.listing import export_asked, paged, sort_asked
from fleet.models import Proposal
from fleet.templatetags.tables import address_with
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.filters import SettingsFilter
from inspections.reports.settings import (
    COLUMNS,
    counts_of,
    devices_for,
    summary_of,
    undated_count,
)
from inspections.reports.settings_ask import SORTS, Review, kept_review
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
    devices = devices_for(request.user)
    day = asks.day()
    listing = Review(day, kept_review(day, request.user), asks.ask())
    sort = sort_asked(request, SORTS, "")
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    exported = export_asked(
        request,
        f"settings-review-{day}",
        COLUMNS,
        lambda: (row.as_dict() for row in listing.sorted(sort)),
        lambda: summary_of(listing.found, day, undated_count(devices)),
    )
    if exported:
        return exported
    whatever = listing.whatever_flag
    context = {
        "table": paged(request, SettingsTable(listing), per_page=PER_PAGE),
        "asks": asks,
        "as_of": day,
        "is_today": day == clock.today(),
        "devices": len({row.device_id for row in whatever}),
        "flagged": len({row.device_id for row in whatever if row.raised}),
        "settings": len(whatever),
        "undated": undated_count(devices),
        "figures": figures(request, counts_of(whatever)),
        "exports": exports_of(request),
        "proposed": Proposal.objects.visible_to(request.user).open_on(clock.today()).count(),
    }
    return render(request, "inspections/settings_review.html", context)


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
