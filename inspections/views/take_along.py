"""What an outage takes along beside its work pack: the parts it is likely to need."""

from django.shortcuts import get_object_or_404, render

from fleet import clock, permissions
from fleet.listing import export_asked
from fleet.models import Outage
from fleet.reports.due import DueList
from fleet.views.due import exports_of
from fleet.views.guard import needs
from inspections.calc.parts_needed import CONFIDENCE, FEWEST
from inspections.papers.work_pack import source_words
from inspections.reports.parts_needed import COLUMNS, needs_of
from inspections.reports.work_pack import pack_of_outage


@needs(permissions.READ)
def outage_parts(request, pk):
    """Parts likely needed, by model, each with what it is counted from."""
    outages = Outage.objects.visible_to(request.user).select_related("site")
    outage = get_object_or_404(outages.prefetch_related("units"), pk=pk)
    today = clock.today()
    pack = pack_of_outage(outage, DueList(today, request.user))
    found = needs_of(pack.visits, today, request.user)
    exported = export_asked(request, f"outage-{outage.pk}-parts", COLUMNS, found.as_dicts)
    if exported:
        return exported
    words, is_in_force = source_words(pack)
    context = {
        "outage": outage,
        "needs": found,
        "source": words,
        "is_in_force": is_in_force,
        "confidence": CONFIDENCE,
        "fewest": FEWEST,
        "exports": exports_of(request),
    }
    return render(request, "inspections/outage_parts.html", context)
