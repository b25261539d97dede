"""What the bench answers while something is typed: a small fragment, nothing saved."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from fleet import permissions
from fleet.calc.units import UnitsError, parse_quantity
from fleet.views.guard import needs
from inspections.actions.crosschecks import doubts
from inspections.actions.records import Record, records_of
from inspections.actions.targets import Target, targets_of
from inspections.calc.naming import checked_by, checks
from inspections.models import Inspection, SettingReading, Stage


@needs(permissions.RECORD_JOB)
@require_safe
def bench_compare(request, pk, setting):
    """An as-left value against its target, in the target's unit, fraction and datum; and against
    what the other method of the same setting says."""
    job = _job(request, pk)
    targets = {target.setting: target for target in targets_of(job)}
    target, typed = targets.get(setting), request.GET.get(setting, "").strip()
    if target is None or not typed:
        return HttpResponse("")
    try:
        reading = _as_left(request, target)
    except UnitsError as error:
        return _answer(request, "unread", f"not a reading yet: expected {error.expected}")
    [record] = records_of([job])
    left = {r.setting: r for r in record.settings if r.stage == Stage.AS_LEFT}
    own = left.get(setting)
    datum = reading.datum or (own.datum if own and not own.is_datum_typed else "")
    notes = {
        "Two methods disagree": _doubt(request, record, targets, setting),
        "Beyond what the model allows": target.beyond(reading.value, datum),
    }
    if target.value is None:
        return _answer(request, "not_comparable", "no earlier as-left to compare with", notes)
    said = target.compared(reading.value, datum, reading.datum_reason, job.done_on)
    return _answer(request, said.kind, said.words, notes)


def _as_left(request, target: Target) -> SettingReading:
    """What stands in the boxes of one setting now. Raises UnitsError; an empty box is no value."""
    name = target.setting
    typed = request.GET.get(name, "").strip()
    value = parse_quantity(typed, (target.measure,), header_unit=target.unit) if typed else None
    return SettingReading(
        setting=name,
        stage=Stage.AS_LEFT,
        value=value,
        datum=request.GET.get(f"{name}-datum", "").strip(),
        datum_reason=request.GET.get(f"{name}-datum_reason", "").strip(),
    )


def _doubt(request, record: Record, targets: dict[str, Target], setting: str) -> str:
    """Why the other method of this setting disagrees, from the boxes as they stand."""
    counted = checks(setting) or setting
    readings = [r for r in record.settings if r.stage == Stage.AS_FOUND]
    for name in (counted, checked_by(counted)):
        try:
            readings += [_as_left(request, targets[name])] if name in targets else []
        except UnitsError:
            return ""
    points = {name: target.point for name, target in targets.items() if target.point}
    return doubts(points, readings).get(counted, "")


def _job(request, pk) -> Inspection:
    rows = Inspection.objects.visible_to(request.user).open().select_related("device", "position")
    return get_object_or_404(rows, pk=pk)


def _answer(request, kind: str, words: str, notes: dict[str, str] | None = None) -> HttpResponse:
    context = {"kind": kind, "words": words, "notes": notes or {}}
    return render(request, "inspections/answer.html", context)
