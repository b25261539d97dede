"""What a record does not explain: each becomes a question a named person must answer."""

from collections.abc import Iterator

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.units import PERCENT, Quantity, UnitsError, parse_quantity
from fleet.models import PositionDuty
from inspections.actions.caps import cap_of
from inspections.actions.cold_test import cold_test_question
from inspections.actions.context import Context
from inspections.actions.crosschecks import doubts
from inspections.actions.records import Record
from inspections.calc import gauges, verdicts
from inspections.calc.pops import cap_question
from inspections.models import Inspection, PopTest, Question, Stage

Asked = tuple[str, str, str, str]  # code, field, typed, text


def questions_of(record: Record, duty: PositionDuty | None, context: Context) -> list[Question]:
    """Unsaved questions, without their stamps."""
    inspection = record.inspection
    asked = [
        *_wrong_tag(inspection, context),
        *_settings_absent(record, context),
        *_two_methods(record, context),
        *_cold_test(inspection, duty),
        *_typed_deviation(record),
        *_gauge(record),
        *_assumed_gauge(record),
        *_implausible(record),
        *_above_cap(record),
        *_nowhere(inspection, context),
    ]
    return [
        Question(
            site_id=inspection.site_id,
            inspection=inspection,
            device_id=inspection.device_id,
            position_id=inspection.position_id,
            code=code,
            field=field,
            typed=typed[:200],
            text=text,
        )
        for code, field, typed, text in asked
    ]


def _wrong_tag(inspection: Inspection, context: Context) -> Iterator[Asked]:
    typed, day = inspection.tag_typed, inspection.done_on
    if not typed or day is None:
        return
    served = context.tags_served(inspection.device_id, day)
    if typed not in served:
        where = ", ".join(sorted(served)) or "no position"
        text = (
            f"the sheet says {typed}, but since its last record this device stood at {where};"
            " the installation decides which position counts"
        )
        yield "device_not_at_tag", "tag", typed, text


def _settings_absent(record: Record, context: Context) -> Iterator[Asked]:
    """An overhaul records every required setting, as found and as left, or why it is missing."""
    inspection = record.inspection
    if inspection.activity != "overhaul":
        return
    read = {(reading.setting, reading.stage) for reading in record.settings}
    points = context.points.get(inspection.device.model_id or 0, {})
    for setting, point in sorted(points.items()):
        for stage in Stage.values if point.required else ():
            if (setting, stage) not in read:
                text = f"{setting} {stage.replace('_', ' ')} is required on this model and absent"
                yield "settings_absent", f"{setting} {stage}", "", text


def _two_methods(record: Record, context: Context) -> Iterator[Asked]:
    """A setting counted and measured: both must tell of one move."""
    points = context.points.get(record.inspection.device.model_id or 0, {})
    left = {r.setting: r for r in record.settings if r.stage == Stage.AS_LEFT}
    for setting, words in sorted(doubts(points, record.settings).items()):
        typed = left[setting].value
        yield "methods_disagree", setting, typed.text if typed else "", words


def _cold_test(inspection: Inspection, duty: PositionDuty | None) -> Iterator[Asked]:
    """The shop's cold test pressure is the position's own, or what its duty gives."""
    typed = inspection.cold_test_pressure
    if typed is None or duty is None or typed == duty.cold_test_pressure:
        return
    text = cold_test_question(typed, duty, inspection.device.kind)
    if text:
        yield "cold_test_mismatch", "cold_test_pressure", typed.text, text


def _typed_deviation(record: Record) -> Iterator[Asked]:
    typed, first = record.inspection.typed_deviation, record.first_pop()
    if not typed or first is None or first.pressure is None or first.reference is None:
        return
    try:
        quantity = parse_quantity(typed, (PERCENT,), header_unit="%")
    except UnitsError as error:
        yield "deviation_unreadable", "typed_deviation", typed, f"expected {error.expected}"
        return
    text = verdicts.typed_deviation_question(quantity, first.pressure, first.reference)
    if text:
        yield "deviation_mismatch", "typed_deviation", typed, text


def _gauge(record: Record) -> Iterator[Asked]:
    inspection = record.inspection
    if inspection.done_on is None:
        return
    try:
        gauge = gauges.gauge_of(
            inspection.gauge_range, inspection.gauge_accuracy, inspection.gauge_due_on
        )
    except UnitsError as error:
        yield "gauge_unreadable", "gauge_range", error.typed, f"expected {error.expected}"
        return
    readings = [p.pressure for p in record.pops if p.pressure is not None and not p.is_vacuum]
    first = record.first_pop() or record.as_left_pop()
    band = None
    if first is not None and first.band_low is not None and first.band_high is not None:
        band = verdicts.Band(first.band_low, first.band_high)
    for number, text in enumerate(
        gauges.gauge_questions(gauge, readings, band, inspection.done_on)
    ):
        yield "gauge_doubtful", f"gauge {number + 1}", inspection.gauge, text


def _assumed_gauge(record: Record) -> Iterator[Asked]:
    """A pressure that does not say gauge or absolute was taken as gauge: it is asked, once a
    column of the inspections sheet."""
    seen = set()
    for name, value in _pressures(record):
        if value is not None and value.assumed_gauge and name not in seen:
            seen.add(name)
            text = f"{value.text} does not say gauge or absolute; gauge is assumed"
            yield "assumed_gauge", name, value.text, text


def _pressures(record: Record) -> Iterator[tuple[str, Quantity | None]]:
    yield "cold_test_pressure", record.inspection.cold_test_pressure
    for pop in record.pops:
        if pop.is_vacuum:
            continue  # below zero it can be nothing but gauge, and the sheet has no column for it
        yield "reseat", pop.reseat
        if pop.stage == Stage.AS_LEFT:
            yield "as_left_pop", pop.pressure
        elif pop.order > 1:
            yield "later_pops", pop.pressure
        else:
            is_censored = pop.bound == PopTest.Bound.ABOVE
            yield "no_lift_at" if is_censored else "first_pop", pop.pressure


def _implausible(record: Record) -> Iterator[Asked]:
    for pop in record.pops:
        if pop.pressure is not None and pop.reference and pop.deviation_percent is None:
            text = f"{pop.pressure} is a thousand times {pop.reference} or more: was it mistyped?"
            yield "pop_implausible", f"{pop.stage} {pop.order}", pop.pressure.text, text


def _above_cap(record: Record) -> Iterator[Asked]:
    """A pop past the pressure at which this job was to stop; of a vent's own vacuum side no cap
    speaks. Where none was entered, as in an old sheet, there is nothing to ask."""
    cap = cap_of(record.inspection)
    for pop in record.pops:
        if pop.pressure is None or pop.stage not in Stage.values:
            continue
        if text := cap_question(pop.pressure, cap):
            yield "above_cap", f"{pop.stage} {pop.order}", pop.pressure.text, text


def _nowhere(inspection: Inspection, context: Context) -> Iterator[Asked]:
    """What is earned in place counts for the place, so there must be one."""
    day = inspection.done_on
    if inspection.activity not in EARNED_IN_PLACE or day is None:
        return
    if context.spell_on(inspection.device_id, day) is None:
        text = f"the device stood at no position on {day}, so this counts for none"
        yield "stood_nowhere", "done_on", day.isoformat(), text
