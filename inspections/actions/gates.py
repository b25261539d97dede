"""The gates of a bench job: what must be written before the next thing may be done.

No stripping before the first pop and the settings as found, or why they are missing. No overhaul
is signed, if the device goes back, without an as-left of what its model requires, and of what
was set before an as-left or why there is none; no as-left off its target without a reason, and
no pop as left outside the site's own tolerance;
no figure out of its limit without an answer; no lapped seat without an unbroken ring.
"""

from collections.abc import Iterable, Sequence

from fleet.faults import Fault
from inspections.actions.assess import POPPED, UNHANDLED
from inspections.actions.discs import is_one_shot
from inspections.actions.kinds import vacuum_gap_found
from inspections.actions.records import Record
from inspections.actions.shop import left_outside
from inspections.actions.targets import Target
from inspections.actions.verify import gaps, goes_back
from inspections.actions.workmanship import unfinished
from inspections.calc.readings import EQUAL, same_datum
from inspections.models import Method, SettingReading, Stage

STRIPS = ("overhaul",)


def before_stripping(record: Record, targets: Sequence[Target]) -> list[Fault]:
    """What has to be read while the valve is still as it came."""
    faults = []
    if record.first_pop() is None and not record.inspection.waived_reason:
        faults.append(Fault("first_pop", "", "the first pop, or why the test was waived"))
    return faults + vacuum_gap_found(record) + _unread(record, targets, Stage.AS_FOUND)


def _must_be_left(target: Target, reading: SettingReading | None) -> bool:
    """The mechanic sets it himself: that it cannot be read is no answer."""
    return target.required and (reading is None or reading.value is None)


def before_signing(record: Record, targets: Sequence[Target]) -> list[Fault]:
    """Everything a finished record holds; empty when it may be signed."""
    faults = gaps(record) + unfinished(record) + list(_unsaid(record))
    if record.inspection.activity in STRIPS:
        faults += _unread(record, targets, Stage.AS_FOUND)
        if goes_back(record):
            faults += _unread(record, targets, Stage.AS_LEFT)
    return faults + list(_unexplained(record, targets)) + _left_outside(record)


def _left_outside(record: Record) -> list[Fault]:
    """Inside the limit in force, but not as near as the site leaves its valves: by design, or
    overlooked? Somebody says which."""
    left, own = record.as_left_pop(), left_outside(record)
    if not own or left is None or record.inspection.left_reason or not goes_back(record):
        return []
    words = f"outside {own}, which this site leaves valves within: say why, or set it again"
    return [Fault("as_left_pop", str(left.pressure), words)]


def _unsaid(record: Record) -> Iterable[Fault]:
    """What makes a test another than it looks, and what else counts for nothing in silence."""
    inspection = record.inspection
    is_assisted = inspection.method == Method.IN_PLACE_ASSIST
    if is_assisted and not inspection.lift_factor and any(pop.pressure for pop in record.pops):
        yield Fault("lift_factor", "", "the correction factor of the lift assist, from its maker")
    handled = inspection.activity not in (*POPPED, *UNHANDLED)
    if handled and not inspection.disposition and not is_one_shot(inspection.device):
        yield Fault("disposition", "", "where it goes: without that it counts towards no date")


def _unread(record: Record, targets: Sequence[Target], stage: str) -> list[Fault]:
    read = {r.setting: r for r in record.settings if r.stage == stage}
    faults, words = [], stage.replace("_", " ")
    for target in (target for target in targets if target.is_known):
        field, reading = f"{target.setting} {words}", read.get(target.setting)
        if stage == Stage.AS_LEFT and _must_be_left(target, reading):
            faults.append(Fault(field, "", "its value: this model goes back with it set"))
        elif not _is_answered(reading):
            faults.append(Fault(field, "", "its value, or why it is missing"))
    return faults


def _is_answered(reading: SettingReading | None) -> bool:
    return reading is not None and bool(reading.value or reading.missing_reason)


def _unexplained(record: Record, targets: Sequence[Target]) -> Iterable[Fault]:
    by_name = {target.setting: target for target in targets}
    for reading in record.settings:
        target = by_name.get(reading.setting)
        if target is None or reading.stage != Stage.AS_LEFT or reading.value is None:
            continue
        if target.value is None or not target.needs_reason or reading.changed_reason:
            continue
        why, on = reading.datum_reason, record.inspection.done_on
        if why and not same_datum(reading.datum, target.value_datum):
            continue  # counted from another datum, and it is said what moved it
        comparison = target.compared(reading.value, reading.datum, why, on)
        if comparison.kind != EQUAL:
            yield Fault(
                f"{reading.setting} as left",
                reading.value.text,
                f"{comparison.words}: give the reason, or put it back",
            )
