"""What the inspect step answers while something is typed, and the order in which nuts are
tightened. Nothing is saved."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from fleet import permissions
from fleet.views.guard import needs
from inspections.actions.workmanship import limits_of
from inspections.calc.limits import judge, key_of
from inspections.calc.tightening import FEWEST, MOST
from inspections.drawings.nuts import nuts_drawing
from inspections.models import Inspection


@needs(permissions.RECORD_JOB)
@require_safe
def bench_measure(request, pk):
    """A figure against the limit of its part, if the model has one; `row` names the boxes."""
    rows = Inspection.objects.visible_to(request.user).open().select_related("device")
    job = get_object_or_404(rows, pk=pk)
    row = request.GET.get("row", "")
    part, measure, figure = (
        request.GET.get(f"{row}-{name}", request.GET.get(name, "")).strip()
        for name in ("part", "measure", "value")
    )
    limit = limits_of(job.device).get(key_of(part, measure)) if figure else None
    if limit is None:
        return HttpResponse("")
    judged = judge(figure, limit)
    context = {"kind": judged.kind, "words": judged.words}
    return render(request, "inspections/answer.html", context)


@needs(permissions.RECORD_JOB)
@require_safe
def bench_nuts(request, pk):
    """The order in which so many nuts are tightened, drawn."""
    get_object_or_404(Inspection.objects.visible_to(request.user).open(), pk=pk)
    typed = request.GET.get("nuts", "").strip()
    is_number = typed.isascii() and typed.isdecimal() and len(typed) < 4
    nuts = int(typed) if is_number else 0
    scene = nuts_drawing(nuts) if FEWEST <= nuts <= MOST else None
    context = {"scene": scene, "typed": typed, "fewest": FEWEST, "most": MOST}
    return render(request, "inspections/nuts_drawn.html", context)
