"""What an outage takes along beside its work pack: the parts it is likely to need, and spares."""

from typing import Any

from django.shortcuts import get_object_or_404, render

from fleet import clock, permissions
from fleet.listing import export_asked
from fleet.models import Outage
from fleet.reports.due import DueList
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.calc.parts_needed import CONFIDENCE, FEWEST
from inspections.papers.work_pack import source_words
from inspections.reports import picks
from inspections.reports.parts_needed import COLUMNS, needs_of
from inspections.reports.work_pack import Pack, pack_of_outage


@needs(permissions.READ)
def outage_parts(request, pk):
    """Parts likely needed, by model, each with what it is counted from."""
    outage, pack = _taken(request, pk)
    found = needs_of(pack.visits, clock.today(), request.user)
    exported = export_asked(request, f"outage-{outage.pk}-parts", COLUMNS, found.as_dicts)
    if exported:
        return exported
    own = {"needs": found, "confidence": CONFIDENCE, "fewest": FEWEST}
    return render(request, "inspections/outage_parts.html", _context(request, pack) | own)


@needs(permissions.READ)
def outage_picks(request, pk):
    """Spares on the shelf to take along, each for one visit, or why there is none."""
    outage, pack = _taken(request, pk, with_spares=True)
    name = f"outage-{outage.pk}-spares"
    exported = export_asked(request, name, picks.COLUMNS, pack.picks.as_dicts)
    if exported:
        return exported
    context = _context(request, pack) | {"list": pack.picks}
    return render(request, "inspections/outage_picks.html", context)


def _taken(request, pk: int, *, with_spares: bool = False) -> tuple[Outage, Pack]:
    outages = Outage.objects.visible_to(request.user).select_related("site")
    outage = get_object_or_404(outages.prefetch_related("units"), pk=pk)
    due = DueList(clock.today(), request.user)
    return outage, pack_of_outage(outage, due, with_spares=with_spares)


def _context(request, pack: Pack) -> dict[str, Any]:
    words, is_in_force = source_words(pack)
    return {
        "outage": pack.outage,
        "source": words,
        "is_in_force": is_in_force,
        "exports": exports_of(request),
    }
