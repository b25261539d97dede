"""What the bench answers to a pop, a gauge, a tag or a day while it is typed; nothing is saved."""

from dataclasses import dataclass
from datetime import date

from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from fleet import clock, permissions
from fleet.calc.units import GAUGE, LEAK_RATE, Quantity, UnitsError, parse_quantity
from fleet.drawings.words import percent_words
from fleet.views.guard import needs
from inspections.actions.basis import ASSISTED, Basis, basis_of, tightness_of, vacuum_basis_of
from inspections.actions.caps import cap_of
from inspections.actions.context import context_of
from inspections.actions.shop import asks_why, own_words
from inspections.actions.start import not_ahead
from inspections.calc import blowdown, gauges, pops, tightness, vacuum, verdicts
from inspections.models import Inspection, PopStage, Stage

PRESSURES = ("cold_test_pressure", "cap_owner", "cap_rig", "cap_equipment")
WORDS = ("method", "medium", "gauge_range", "gauge_accuracy")
SAID = {
    verdicts.IN: "in tolerance",
    verdicts.HIGH: "opened high",
    verdicts.LOW: "opened low",
    verdicts.UNDECIDED: "not decided: it opens somewhere above this",
}
SHOWN_AS = {verdicts.UNDECIDED: "not_comparable"}
NOT_YET = {"leak_rate": "leakage", "gauge_range": "range", "gauge_accuracy": "accuracy"}
NO_TOLERANCE = "no tolerance is set for this position"


@dataclass(frozen=True)
class Line:
    """One line of an answer; `kind` is a state (shape and tone), or "" for a quiet remark."""

    kind: str
    words: str
    asks_why: bool = False  # brings out the box for a reason


@needs(permissions.RECORD_JOB)
@require_safe
def bench_judge(request, pk, stage):
    """One answer: a stage's pop, or another thing that is checked while it is typed."""
    rows = Inspection.objects.visible_to(request.user).open().select_related("device", "position")
    job = get_object_or_404(rows, pk=pk)
    if stage not in ABOUT:
        raise Http404
    typed = request.GET
    _lay_over(job, typed)
    try:
        lines = ABOUT[stage](job, typed)
    except UnitsError as error:
        what = NOT_YET.get(stage, "pressure")
        lines = [Line("unread", f"not a {what} yet: expected {error.expected}")]
    if not lines:
        return HttpResponse("")
    return render(request, "inspections/bench_said.html", {"lines": lines})


def _lay_over(job: Inspection, typed: QueryDict) -> None:
    """The job as it would be with what stands in the boxes; what cannot be read yet is left out."""
    for name in PRESSURES:
        if name in typed:
            setattr(job, name, _quantity(typed[name]))
    for name in WORDS:
        if name in typed:
            setattr(job, name, typed[name].strip())
    if "gauge_due_on" in typed:
        job.gauge_due_on = _day(typed["gauge_due_on"])


def _quantity(typed: str) -> Quantity | None:
    try:
        return parse_quantity(typed, (GAUGE,)) if typed.strip() else None
    except UnitsError:
        return None


def _day(typed: str) -> date | None:
    try:
        return date.fromisoformat(typed.strip())
    except ValueError:
        return None


def _as_found(job: Inspection, typed: QueryDict) -> list[Line]:
    """The first pop: each verdict apart, the caps, and what it points to."""
    pressure, stopped = typed.get("first_pop", "").strip(), typed.get("no_lift_at", "").strip()
    if not (pressure or stopped):
        return []
    pop = _pop(pressure or stopped, no_lift=not pressure)
    basis = basis_of(job)
    lines = [*_limits(job, pop), *_stuck(pop, basis), *_verdict(pop, basis)]
    if basis.reference is not None:
        lines.append(_scope(pop, basis.reference))
    if basis.band is not None:
        later = [q for q in map(_quantity, typed.get("later_pops", "").split(";")) if q]
        lines.append(Line("", pops.meaning(pop, later, basis.band)))
        if onward := pops.after_failing(verdicts.verdict(pop, basis.band), job.activity):
            lines.append(Line("", onward))
    if job.method in ASSISTED:
        words = "Lift assisted: another method, never in one trend with full-pressure pops"
        lines.append(Line("not_comparable", f"{words} (NRC IN 94-56)."))
    return lines


def _as_left(job: Inspection, typed: QueryDict) -> list[Line]:
    pressure = typed.get("as_left_pop", "").strip()
    if not pressure:
        return []
    pop, basis = _pop(pressure, no_lift=False), basis_of(job)
    return [*_limits(job, pop), *_verdict(pop, basis), *_own(pop, basis)]


def _own(pop: verdicts.Pop, basis: Basis) -> list[Line]:
    """By what the site leaves its valves within; nothing where it entered none."""
    if basis.own_band is None:
        return []
    said, within = verdicts.verdict(pop, basis.own_band), f"this site's own {own_words(basis)}"
    if said == verdicts.IN:
        return [Line("in", f"within {within}")]
    words = f"{'above' if said == verdicts.HIGH else 'below'} {within}"
    if not asks_why(basis, pop.pressure):
        return [Line("off", words)]
    return [Line("off", f"{words}: say why, or set it again", asks_why=True)]


def _vacuum(opened: str, stopped: str = ""):
    """The vacuum side, about its own set; high and low are said by which way they err."""

    def answers(job: Inspection, typed: QueryDict) -> list[Line]:
        pressure, no_lift = typed.get(opened, "").strip(), typed.get(stopped, "").strip()
        if not (pressure or no_lift):
            return []
        pop, basis = _pop(pressure or no_lift, no_lift=not pressure), vacuum_basis_of(job)
        if why := vacuum.why_no_vacuum(pop.pressure):
            return [Line("off", why)]
        if basis.reference is None:
            return [Line("not_comparable", f"no vacuum set to judge it by: {basis.words}")]
        off = verdicts.deviation_percent(pop.pressure, basis.reference)
        words = f"{vacuum.off_words(off, no_lift=pop.no_lift)} of {basis.reference}"
        if basis.band is None:
            return [Line("not_comparable", f"{words}; {NO_TOLERANCE} that speaks of vacuum")]
        said = verdicts.verdict(pop, basis.band)
        band = f"band {basis.band.low} to {basis.band.high}"
        return [Line(SHOWN_AS.get(said, said), f"{vacuum.WORDS[said]}: {words}, {band}")]

    return answers


def _pop(typed: str, *, no_lift: bool) -> verdicts.Pop:
    return verdicts.Pop(parse_quantity(typed, (GAUGE,)), no_lift=no_lift)


def _limits(job: Inspection, pop: verdicts.Pop) -> list[Line]:
    question = pops.cap_question(pop.pressure, cap_of(job))
    return [Line("off", question)] if question else []


def _stuck(pop: verdicts.Pop, basis: Basis) -> list[Line]:
    """By 150 % of a cold test pressure that is known: stuck shut, stop."""
    if basis.reference is None or not pops.is_stuck_shut(pop, basis.reference):
        return []
    words = f"stuck shut: none by {basis.stuck_at}, 150 % of its cold test pressure. Stop"
    return [Line("high", f"{words} ({pops.SOURCE})")]


def _verdict(pop: verdicts.Pop, basis: Basis) -> list[Line]:
    """Against the limit in force on the day of the work."""
    if basis.reference is None:
        return [Line("not_comparable", f"no cold test pressure to judge it by: {basis.words}")]
    off = verdicts.deviation_percent(pop.pressure, basis.reference)
    words = f"{'above ' if pop.no_lift else ''}{percent_words(off, 2)} of {basis.reference}"
    if basis.band is None:
        return [Line("not_comparable", f"{words}; {NO_TOLERANCE}")]
    said = verdicts.verdict(pop, basis.band)
    band = f"band {basis.band.low} to {basis.band.high}"
    limit = basis.duty.tolerance if basis.duty else None
    named = f"{limit}: {limit.citation}" if limit and limit.citation else str(limit)
    return [
        Line(SHOWN_AS.get(said, said), f"{SAID[said]}: {words}, {band}"),
        Line("", f"By the limit in force that day, {named}."),
    ]


def _scope(pop: verdicts.Pop, reference: Quantity) -> Line:
    """The code's limit for testing more valves, apart from the limit in force."""
    near = pops.within_percent(pop, reference, pops.SCOPE_LIMIT)
    said = {True: "inside", False: "outside", None: "not decided against"}[near]
    words = f"{said} the ±{pops.SCOPE_LIMIT} % at which some codes ask to test more valves"
    return Line("", f"{words.capitalize()} (ASME OM, from memory).")


def _leak(job: Inspection, typed: QueryDict) -> list[Line]:
    given, found = typed.get("leak_rate", "").strip(), tightness_of(job, basis_of(job))
    if not given:
        return [Line("", f"Limit: {found.limit_words}.")]
    leak = parse_quantity(given, (LEAK_RATE,))
    if found.limit is None:
        return [Line("not_comparable", f"no leakage limit: {found.limit_words}")]
    is_tight, words = tightness.leak_words(leak, found.limit)
    kind = {True: "in", False: "off", None: "not_comparable"}[is_tight]
    return [Line(kind, words), Line("", found.limit.words)]


def _reseat(job: Inspection, typed: QueryDict) -> list[Line]:
    """How far it shut below where it opened, and what its code allows; nothing is judged by it."""
    opened, reseated = _quantity(typed.get("as_left_pop", "")), typed.get("reseat", "").strip()
    if not reseated:
        return []
    reseat, duty = parse_quantity(reseated, (GAUGE,)), basis_of(job).duty
    if opened is None or duty is None or duty.set_pressure is None:
        return []
    limits = blowdown.limits_of(duty.tolerance.code if duty.tolerance else "", duty.phase)
    try:
        is_within, words = blowdown.said(opened, reseat, duty.set_pressure, limits)
    except ValueError as error:
        return [Line("off", str(error))]
    kind = {True: "in", False: "off", None: ""}[is_within]
    return [Line(kind, words), Line("", blowdown.ON_A_BENCH)]


def _gauge(about: str):
    """One check of the gauge, said at the field it is about."""

    def answers(job: Inspection, typed: QueryDict) -> list[Line]:
        if not typed.get(about, "").strip() or job.done_on is None:
            return []
        needs_range = about != "gauge_due_on"
        gauge = gauges.gauge_of(
            job.gauge_range if needs_range else "",
            job.gauge_accuracy if about == "gauge_accuracy" else "",
            job.gauge_due_on if about == "gauge_due_on" else None,
        )
        names = ("first_pop", "no_lift_at") if about == "gauge_range" else ()
        readings = [q for q in (_quantity(typed.get(name, "")) for name in names) if q]
        band = basis_of(job).band if about == "gauge_accuracy" else None
        questions = gauges.gauge_questions(gauge, readings, band, job.done_on)
        if questions:
            return [Line("off", question) for question in questions]
        is_held = {
            "gauge_range": bool(readings),
            "gauge_accuracy": band is not None and gauges.is_comparable(gauge, band),
            "gauge_due_on": True,
        }
        return [Line("in", FIT[about])] if is_held[about] else []

    return answers


FIT = {
    "gauge_range": "what was read lies inside it",
    "gauge_due_on": "in date on the day of the work",
    "gauge_accuracy": "not worse than a quarter of the tolerance tested",
}


def _tag(job: Inspection, typed: QueryDict) -> list[Line]:
    """A tag the device did not stand at is said, not refused: the installation decides."""
    tag = typed.get("tag_typed", "").strip()
    if not tag or job.done_on is None:
        return []
    served = context_of([job]).tags_served(job.device_id, job.done_on)
    if tag in served:
        return [Line("in", "the device stood there")]
    where = ", ".join(sorted(served)) or "no position"
    words = f"since its last record this device stood at {where}, not at {tag}"
    return [Line("off", words), Line("", "Keep it if the tag says so: the installation decides.")]


def _done_on(job: Inspection, typed: QueryDict) -> list[Line]:
    """The tablet's clock may be wrong; the site's own says what day it is."""
    day, now = _day(typed.get("done_on", "")), clock.now()
    if day is None or day <= clock.day_of(now):
        return []
    return [Line("off", f"expected {not_ahead(now)}")]


ABOUT = {
    Stage.AS_FOUND.value: _as_found,
    Stage.AS_LEFT.value: _as_left,
    PopStage.VACUUM_FOUND.value: _vacuum("vacuum_pop", "vacuum_no_lift_at"),
    PopStage.VACUUM_LEFT.value: _vacuum("vacuum_left"),
    "leak_rate": _leak,
    "reseat": _reseat,
    "gauge_range": _gauge("gauge_range"),
    "gauge_accuracy": _gauge("gauge_accuracy"),
    "gauge_due_on": _gauge("gauge_due_on"),
    "tag_typed": _tag,
    "done_on": _done_on,
}
