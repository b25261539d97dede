"""What the bench answers while something is typed: a small fragment, nothing saved."""

from fractions import Fraction

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from fleet import permissions
from fleet.calc.units import GAUGE, UnitsError, parse_quantity
from fleet.drawings.words import percent_words
from fleet.views.guard import needs
from inspections.actions.assess import assess
from inspections.actions.context import context_of
from inspections.actions.records import Record
from inspections.actions.targets import targets_of
from inspections.models import Inspection, PopTest, Stage


@needs(permissions.RECORD_JOB)
@require_safe
def bench_compare(request, pk, setting):
    """An as-left value against its target, in the target's unit, fraction and datum."""
    job = _job(request, pk)
    target = next((t for t in targets_of(job) if t.setting == setting), None)
    typed = request.GET.get(setting, "").strip()
    if target is None or not typed:
        return HttpResponse("")
    try:
        value = parse_quantity(typed, (target.measure,), header_unit=target.unit)
    except UnitsError as error:
        return _answer(request, "unread", f"not a reading yet: expected {error.expected}")
    if target.value is None:
        return _answer(request, "not_comparable", "no earlier as-left to compare with")
    comparison = target.compared(value, request.GET.get(f"{setting}-datum", "").strip())
    return _answer(request, comparison.kind, comparison.words)


@needs(permissions.RECORD_JOB)
@require_safe
def bench_judge(request, pk, stage):
    """A pop against the band in force on the day of the work."""
    job = _job(request, pk)
    if stage not in Stage.values:
        raise Http404
    field = "first_pop" if stage == Stage.AS_FOUND else "as_left_pop"
    typed = request.GET.get(field, "").strip()
    if not typed:
        return HttpResponse("")
    try:
        pressure = parse_quantity(typed, (GAUGE,))
    except UnitsError as error:
        return _answer(request, "unread", f"not a pressure yet: expected {error.expected}")
    pop = PopTest(inspection=job, stage=stage, order=1, pressure=pressure)
    assess([Record(job, [pop])], context_of([job]))
    if pop.deviation_percent is None:
        return _answer(request, "not_comparable", "no cold test pressure to judge it by")
    words = f"{percent_words(Fraction(pop.deviation_percent), 2)} of {pop.reference}"
    if not pop.verdict:
        return _answer(request, "not_comparable", f"{words}; no tolerance is set for this position")
    said = {"in": "in tolerance", "high": "opened high", "low": "opened low"}[pop.verdict]
    band = f"{pop.band_low} to {pop.band_high}"
    return _answer(request, pop.verdict, f"{said}: {words}, band {band}")


def _job(request, pk) -> Inspection:
    rows = Inspection.objects.visible_to(request.user).open().select_related("device", "position")
    return get_object_or_404(rows, pk=pk)


def _answer(request, kind: str, words: str) -> HttpResponse:
    return render(request, "inspections/answer.html", {"kind": kind, "words": words})
