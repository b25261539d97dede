"""Instructions: a setting as an engineer or the maker says it is to be, signed by name.

One takes the place of the one before it from its day on; once it is ended, the last as-left is
the target again, and no older instruction comes back.
"""

from datetime import date, datetime

from django.db.models import Q

from fleet import audit
from fleet.calc.units import LENGTH, NOTCHES, TURNS
from fleet.faults import Fault, Refused
from fleet.models import Device, User
from inspections.calc.naming import why_not_a_name
from inspections.models import Instruction, SettingPoint

MEASURED = (NOTCHES, TURNS, LENGTH)


def in_force(
    device: int, day: date | None, known_at: datetime | None = None
) -> dict[str, Instruction]:
    """{setting: the instruction in force on a day}, as known now or at a moment; one query.

    Without a day: the latest of each that has not ended.
    """
    rows = Instruction.objects.filter(device=device).select_related("signed_by")
    if day is not None:
        rows = rows.filter(from_on__lte=day)
    if known_at is not None:
        rows = rows.filter(recorded_at__lte=known_at)
    latest = {row.setting: row for row in rows.order_by("from_on", "pk")}
    return {name: row for name, row in latest.items() if _holds(row, day, known_at)}


def _holds(row: Instruction, day: date | None, known_at: datetime | None) -> bool:
    if row.until_on is None:
        return True
    if known_at is not None and row.closed_at is not None and row.closed_at > known_at:
        return True  # it was ended later
    return day is not None and day < row.until_on


@audit.writing()
def instruct(instruction: Instruction, *, by: User, at: datetime) -> Instruction:
    """Sign an unsaved instruction. Raises Refused with everything that is wrong with it."""
    faults = _faults(instruction)
    if faults:
        raise Refused(faults)
    instruction.signed_by = instruction.recorded_by = by
    instruction.recorded_at = at
    instruction.save(force_insert=True)
    audit.record([audit.change("instruction signed", instruction)], by=by, at=at)
    return instruction


def _faults(row: Instruction) -> list[Fault]:
    faults = [
        Fault(name, "", words)
        for name, words in (
            ("value", "the value it is to be set to"),
            ("datum", "where it is counted from: a count without its datum says nothing"),
            ("source", "the document that says so"),
            ("reason", "why it is to be so"),
        )
        if not (getattr(row, name) or "")
    ]
    if words := why_not_a_name(row.setting):
        faults.append(Fault("setting", row.setting, words))
    if row.device.status == Device.Status.SCRAPPED:
        faults.append(Fault("setting", row.device.number, "a device that is not scrapped"))
    point = SettingPoint.objects.filter(model=row.device.model_id, setting=row.setting).first()
    value = row.value
    if point and value is not None and value.dimension != point.measure:
        faults.append(Fault("value", value.text, f"a value in {point.measure}"))
    same_day = Q(device=row.device, setting=row.setting, from_on=row.from_on)
    if Instruction.objects.filter(same_day).exists():
        words = "another day: an instruction for this setting begins on it already"
        faults.append(Fault("from_on", row.from_on.isoformat(), words))
    return faults


@audit.writing()
def end(instruction: Instruction, until_on: date, *, by: User, at: datetime) -> Instruction:
    """From this day on it holds no more. Raises Refused where it has ended, or before it began."""
    stored = Instruction.objects.get(pk=instruction.pk)
    if stored.until_on is not None:
        raise Refused([Fault("until_on", str(stored.until_on), "it has ended already")])
    if until_on <= stored.from_on:
        words = f"a day after {stored.from_on}, on which it begins"
        raise Refused([Fault("until_on", until_on.isoformat(), words)])
    stored.until_on, stored.closed_at, stored.closed_by = until_on, at, by
    stored.save()
    audit.record([audit.change("instruction ended", stored)], by=by, at=at)
    return stored
