"""The fleet as populations: first pops by model, service, unit or year, and two groups compared."""

from django.http import HttpResponseBadRequest
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from fleet import permissions
from fleet.drawings.svg import render as drawn
from fleet.listing import export_asked
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.calc.populations import Population, compared, span_of
from inspections.drawings.deviations import deviation_strip
from inspections.filters import PopulationFilter
from inspections.reports.populations import COLUMNS, GROUPINGS, as_dict, population_rows

SHOWN = 60  # groups on the page; the export has all


@needs(permissions.READ)
@require_safe
def fleet_view(request):
    """One row a group, worst first; two of them held against each other where asked."""
    asks = PopulationFilter(request.GET, user=request.user)
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    ask, day = asks.ask(), asks.day()
    groups = population_rows(day, request.user, ask)
    exported = export_asked(
        request, f"first-pops-by-{ask.by}-{day}", COLUMNS, lambda: map(as_dict, groups)
    )
    if exported:
        return exported
    span = span_of(groups)
    one, other = _asked(groups, request.GET.get("one")), _asked(groups, request.GET.get("other"))
    context = {
        "asks": asks,
        "as_of": day,
        "by": GROUPINGS[ask.by],
        "groups": [
            (group, mark_safe(drawn(deviation_strip(group, span)))) for group in groups[:SHOWN]
        ],
        "more": max(0, len(groups) - SHOWN),
        "span": span,
        "pops": sum(group.n for group in groups),
        "choices": groups,
        "one": one,
        "other": other,
        "compared": compared(one, other) if one and other and one != other else None,
        "kept": [(k, v) for k, v in request.GET.items() if k not in ("one", "other", "page")],
        "exports": exports_of(request),
    }
    return render(request, "inspections/populations.html", context)


def _asked(groups: list[Population], key: str | None) -> Population | None:
    return next((group for group in groups if str(group.key) == key), None) if key else None
