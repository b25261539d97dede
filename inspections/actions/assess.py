"""Judge a finished record: where the device was, what its pops say, whether it counts, and what
it leaves unexplained. Fills the record's own columns and answers the ledger line it earns, if any.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.duty import ColdTest, NoColdTestPressure, cold_test_pressure
from fleet.calc.units import Quantity
from fleet.models import PositionDuty, ServiceEvent, ToleranceBand
from inspections.actions.context import Context
from inspections.actions.questions import questions_of
from inspections.actions.records import Record
from inspections.actions.vacuum import vacuum_asked, why_vacuum_unfit
from inspections.calc import verdicts
from inspections.models import Disposition, Inspection, PopTest, Question, Stage

BACK_IN_SERVICE = (Disposition.REINSTALLED, Disposition.REPAIRED)
DISC_BACK = (*BACK_IN_SERVICE, Disposition.REPLACED)
FIT_AFTER = {"disc_change": DISC_BACK, "replacement": (Disposition.REPLACED,)}
POPPED = ("bench_test", "overhaul", "in_place_test")
STUCK = (PopTest.Result.NO_LIFT, PopTest.Result.STUCK_OPEN)
WIDEST_PERCENT = 99_999  # what the column holds; beyond it, somebody mistyped
UNHANDLED = ("visual", "capacity_review")  # nothing comes out, so nothing has to go back fit


@dataclass(frozen=True)
class Assessment:
    """event: what it adds to the ledger, if anything; whether it counts is said on it."""

    record: Record
    event: ServiceEvent | None
    questions: list[Question]


def assess(records: Sequence[Record], context: Context) -> list[Assessment]:
    """Judge each record; nothing is saved."""
    return [_assess(record, context) for record in records]


def _assess(record: Record, context: Context) -> Assessment:
    duty = duty_of(record.inspection, context)
    _judge_pops(record, duty)
    _judge_by_own(record, duty, context.own_tolerance(record.inspection))
    _fill_disposition(record)
    event = _event(record, context, is_counted=not why_not_counted(record))
    return Assessment(record, event, questions_of(record, duty, context))


def duty_of(inspection: Inspection, context: Context) -> PositionDuty | None:
    """What was asked of the device: by the position it served; of one that never stood
    anywhere, by the position it went to next."""
    device, day = inspection.device_id, inspection.done_on
    if day is None:
        return None
    if spell := context.spell_served(device, day):
        inspection.position_id = spell.position_id
        return context.duty_on(spell.position_id, day)
    inspection.position_id = None
    ahead = context.spell_ahead(device, day)
    return context.duty_on(ahead.position_id, ahead.installed_on) if ahead else None


def reference_pressure(inspection: Inspection, duty: PositionDuty | None) -> Quantity | None:
    """The pressure a pop is judged against: the CDTP of the record, else of the duty, else what
    set, back pressure and multiplier give; None when none follows."""
    found = inspection.cold_test_pressure
    if found is None and duty is not None:
        found = duty.cold_test_pressure or derived_cdtp(duty, inspection.device.kind)
    return found if found is not None and found.magnitude else None


def derived_cdtp(duty: PositionDuty, kind: str) -> Quantity | None:
    try:
        found = derivation(duty, kind)
    except NoColdTestPressure:
        return None
    return found.pressure if found else None


def derivation(duty: PositionDuty, kind: str) -> ColdTest | None:
    """How the duty gives the cold test pressure; None without a set. Raises NoColdTestPressure."""
    multiplier = duty.temperature_multiplier
    if duty.set_pressure is None:
        return None
    return cold_test_pressure(
        duty.set_pressure,
        kind=kind,
        back_pressure=duty.back_pressure,
        back_pressure_kind=duty.back_pressure_kind,
        multiplier=None if multiplier is None else Fraction(multiplier),
    )


def _judge_pops(record: Record, duty: PositionDuty | None) -> None:
    """Snapshot on each pop the band in force that day, its deviation and its verdict."""
    pressure = reference_pressure(record.inspection, duty)
    asked = {False: (pressure, band_of(duty, pressure)), True: vacuum_asked(duty)}
    for pop in record.pops:
        reference, band = asked[pop.is_vacuum]
        pop.reference = reference
        pop.tolerance = duty.tolerance if duty and band else None
        pop.band_low, pop.band_high = (band.low, band.high) if band else (None, None)
        pop.deviation_percent, pop.verdict = None, ""
        if pop.pressure is None or reference is None:
            continue
        exact = verdicts.deviation_percent(pop.pressure, reference)
        if abs(exact) <= WIDEST_PERCENT:
            pop.deviation_percent = verdicts.round_half_away(exact, 4)
        if band:
            pop.verdict = verdicts.verdict(as_pop(pop), band)


def _judge_by_own(
    record: Record, duty: PositionDuty | None, tolerance: ToleranceBand | None
) -> None:
    """Snapshot on what was left the site's own tolerance and its verdict; no event hangs on it."""
    band = band_by(tolerance, duty, reference_pressure(record.inspection, duty))
    for pop in record.pops:
        judged = band if pop.stage == Stage.AS_LEFT and pop.pressure is not None else None
        pop.shop_tolerance = tolerance if judged else None
        pop.shop_verdict = verdicts.verdict(as_pop(pop), judged) if judged else ""


def band_of(duty: PositionDuty | None, reference: Quantity | None) -> verdicts.Band | None:
    return band_by(duty.tolerance if duty else None, duty, reference)


def band_by(
    tolerance: ToleranceBand | None, duty: PositionDuty | None, reference: Quantity | None
) -> verdicts.Band | None:
    """A tolerance's band for the set of this duty, about the pressure that pops are judged by."""
    if tolerance is None or duty is None or reference is None or duty.set_pressure is None:
        return None
    try:
        return verdicts.band(tolerance.tolerance, duty.set_pressure, reference)
    except verdicts.NoBand:
        return None


def as_pop(pop: PopTest) -> verdicts.Pop:
    """A pop that has a pressure, as the arithmetic takes it."""
    assert pop.pressure is not None
    return verdicts.Pop(pop.pressure, no_lift=pop.bound == PopTest.Bound.ABOVE)


def _fill_disposition(record: Record) -> None:
    """An as-left pop in tolerance says the device was put right; nothing else is assumed."""
    left, inward = record.as_left_pop(), record.vacuum_left()
    if inward is not None and inward.verdict != verdicts.IN:
        return
    if not record.inspection.disposition and left and left.verdict == verdicts.IN:
        record.inspection.disposition = Disposition.REPAIRED


def why_not_counted(record: Record) -> str:
    """Did the device go back fit? Stuck, scrapped, as-left missing or out of band: no. "" = yes."""
    inspection = record.inspection
    disposition, activity = inspection.disposition, inspection.activity
    if activity in UNHANDLED:
        return "" if disposition in ("", *DISC_BACK) else f"the disposition is {disposition}"
    if disposition not in FIT_AFTER.get(activity, BACK_IN_SERVICE):
        return f"the disposition is {disposition}" if disposition else _why_none(record)
    return _why_unfit(record) if activity in POPPED else ""


def _why_none(record: Record) -> str:
    if record.inspection.activity in POPPED:
        return _why_unfit(record) or "no disposition is given, and no tolerance to judge it by"
    return "no disposition is given"


def _why_unfit(record: Record) -> str:
    left = record.as_left_pop()
    if left is None or left.pressure is None:
        return "no as-left pop is given"
    if left.bound == PopTest.Bound.ABOVE or left.result in STUCK:
        return "it did not open when it was popped as left"
    if left.verdict not in (verdicts.IN, ""):
        return f"the as-left pop is {left.verdict}"
    return why_vacuum_unfit(record)


def _found(first: PopTest) -> str:
    """Its verdict; what was stuck failed, even where no pressure was noted."""
    return first.verdict or ("stuck" if first.result in STUCK else "")


def _event(record: Record, context: Context, *, is_counted: bool) -> ServiceEvent | None:
    """The ledger line a record earns: for its device, or for the place it stands in.

    One that does not count resets no clock, and is a line only to keep what its first pop said.
    """
    inspection, first = record.inspection, record.first_pop()
    day = inspection.done_on
    place = None
    if day is None or not (is_counted or _is_judged(inspection, first)):
        return None
    if inspection.activity in EARNED_IN_PLACE:
        spell = context.spell_on(inspection.device_id, day)
        if spell is None:
            return None
        place = inspection.position_id = spell.position_id
    return ServiceEvent(
        site_id=inspection.site_id,
        device_id=None if place else inspection.device_id,
        position_id=place,
        activity=inspection.activity,
        done_on=day,
        ref=inspection.ref,
        as_found_percent=first.deviation_percent if first else None,
        as_found_bound=first.bound if first else "",
        as_found_verdict=_found(first) if first else "",
        is_counted=is_counted,
        is_baseline=inspection.is_baseline,
    )


def _is_judged(inspection: Inspection, first: PopTest | None) -> bool:
    return inspection.activity in POPPED and first is not None and bool(first.verdict)
