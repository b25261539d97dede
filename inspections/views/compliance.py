"""The compliance list: prove it, for that day."""

from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import render

from fleet import clock, permissions
from fleet.drawings.states import state_of
from fleet.listing import export_asked, paged, sort_asked
from fleet.reports.due_ask import STATUSES
from fleet.templatetags.tables import address_with
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.filters import ComplianceFilter
from inspections.papers import compliance as paper
from inspections.reports.compliance import COLUMNS, ComplianceList, summary_of
from inspections.tables import ComplianceTable
from inspections.tables.compliance import SORTS
from inspections.views.settings_review import Figure


@needs(permissions.READ)
def compliance_list(request):
    """Every line of a day, each with its evidence; as it is known now, or as it was known."""
    asks = ComplianceFilter(request.GET, user=request.user)
    listing = ComplianceList(asks.day(), asks.known_on(), request.user, asks.ask())
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    exported = _exported(request, listing)
    if exported:
        return exported
    counts = listing.counts()
    context = {
        "table": paged(request, ComplianceTable(listing)),
        "asks": asks,
        "as_of": listing.as_of,
        "known_on": listing.known_on,
        "known_before": paper.KNOWN_BEFORE if listing.is_known_before else "",
        "is_now": listing.as_of == clock.today() and listing.known_on is None,
        "all": counts["all"],
        "figures": figures(request, counts),
        "exports": [*exports_of(request), ("PDF", address_with(request, PDF))],
    }
    return render(request, "inspections/compliance_list.html", context)


PDF = {"export": "pdf", "page": None}


def _exported(request, listing: ComplianceList):
    """Exactly what is filtered, in the order of the page."""
    sort = sort_asked(request, SORTS, "due_on")
    name = f"compliance-list-{listing.as_of}"
    if listing.known_on:
        name += f"-known-{listing.known_on}"
    if request.GET.get("export") == "pdf":
        response = HttpResponse(paper.pdf(listing, sort), content_type="application/pdf")
        response["Content-Disposition"] = f'attachment; filename="{name}.pdf"'
        return response
    return export_asked(
        request,
        name,
        COLUMNS,
        lambda: (row.as_dict() for row in listing.every_row(sort)),
        lambda: summary_of(listing),
    )


def figures(request, counts: dict[str, int]) -> list[Figure]:
    """How many lines of each status; one that nothing has is left out."""
    here = request.GET.get("status", "")
    return [
        Figure(
            counts.get(status, 0),
            state_of(status).words,
            state_of(status).tone if counts.get(status) else "",
            address_with(request, {"status": None if status == here else status, "page": None}),
            status == here,
        )
        for status in STATUSES
        if counts.get(status) or status in (here, "overdue")
    ]
