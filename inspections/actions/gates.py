"""The gates of a bench job: what must be written before the next thing may be done.

No stripping before the first pop and the settings as found, or why they are missing; no signing
without an as-left; no as-left off its target without a reason.
"""

from collections.abc import Iterable, Sequence

from fleet.faults import Fault
from inspections.actions.records import Record
from inspections.actions.targets import Target
from inspections.actions.verify import gaps
from inspections.calc.readings import EQUAL
from inspections.models import SettingReading, Stage

STRIPS = ("overhaul",)


def before_stripping(record: Record, targets: Sequence[Target]) -> list[Fault]:
    """What has to be read while the valve is still as it came."""
    faults = []
    if record.first_pop() is None and not record.inspection.waived_reason:
        faults.append(Fault("first_pop", "", "the first pop, or why the test was waived"))
    return faults + _unread(record, targets, Stage.AS_FOUND)


def before_signing(record: Record, targets: Sequence[Target]) -> list[Fault]:
    """Everything a finished record holds; empty when it may be signed."""
    faults = gaps(record)
    if record.inspection.activity in STRIPS:
        faults += _unread(record, targets, Stage.AS_FOUND)
        faults += _unread(record, targets, Stage.AS_LEFT)
    return faults + list(_unexplained(record, targets))


def _unread(record: Record, targets: Sequence[Target], stage: str) -> list[Fault]:
    read = {r.setting: r for r in record.settings if r.stage == stage}
    words = stage.replace("_", " ")
    return [
        Fault(f"{target.setting} {words}", "", "its value, or why it is missing")
        for target in targets
        if target.required and not _is_answered(read.get(target.setting))
    ]


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
        comparison = target.compared(reading.value, reading.datum)
        if comparison.kind != EQUAL:
            yield Fault(
                f"{reading.setting} as left",
                reading.value.text,
                f"{comparison.words}: give the reason, or put it back",
            )
