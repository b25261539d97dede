"""What a hand-tag says of a device on a day, and why there is none for a record."""

from dataclasses import dataclass
from datetime import date

from fleet.drawings.axis import day_words
from fleet.drawings.states import state_of
from fleet.models import Installation
from fleet.reports.due import DueList, DueRow
from fleet.reports.reasons import activity_words
from inspections.actions.assess import POPPED, why_not_counted
from inspections.actions.records import records_of
from inspections.models import Inspection
from inspections.reports.beside import rows_at
from inspections.reports.certificate import duty_asked


@dataclass(frozen=True)
class HandTag:
    """as_of: the day on which the due date is what it says it is."""

    inspection: Inspection
    as_of: date
    place: str
    set_pressure: str
    due: str
    due_words: str


def why_no_tag(inspection: Inspection) -> str:
    """A tag that hung on a valve must not say more than stands; "" when there may be one."""
    if inspection.locked_at is None:
        return "it is not verified yet"
    correction = Inspection.objects.locked().filter(corrects=inspection).first()
    if correction is not None:
        return f"it was corrected by record {correction.ref}"
    [record] = records_of([inspection])
    if why := why_not_counted(record):
        return f"the device did not go back fit: {why}"
    later = _later(inspection)
    return f"the device was tested since, by record {later.ref}" if later else ""


def _later(inspection: Inspection) -> Inspection | None:
    rows = Inspection.objects.standing().filter(device=inspection.device_id, activity__in=POPPED)
    rows = rows.exclude(pk=inspection.pk).exclude(done_on=None).order_by("done_on", "pk")
    last, mine = rows.last(), inspection.done_on or date.min
    if last is None or last.done_on is None:
        return None
    return last if (last.done_on, last.pk) > (mine, inspection.pk) else None


def last_tested(device_id: int, user) -> Inspection | None:
    """The last standing test of a device that the reader sees."""
    rows = Inspection.objects.visible_to(user).standing()
    rows = rows.filter(device=device_id, activity__in=POPPED).exclude(done_on=None)
    return rows.order_by("done_on", "pk").last()


def hand_tag_of(inspection: Inspection, due: DueList) -> HandTag:
    """Where the device is on that day, what it is set to and what it owes there."""
    spells = Installation.objects.visible_to(due.user).on(due.as_of)
    spell = spells.filter(device=inspection.device_id).select_related("position").first()
    duty = duty_asked(inspection)
    rows = rows_at({spell.position_id}, due) if spell else []
    day, words = _due(rows, is_fitted=spell is not None)
    came_from = f"not fitted; from {inspection.position}" if inspection.position else "not fitted"
    return HandTag(
        inspection=inspection,
        as_of=due.as_of,
        place=spell.position.tag if spell else came_from,
        set_pressure=str(duty.set_pressure) if duty and duty.set_pressure else "not recorded",
        due=day,
        due_words=words,
    )


def _due(rows: list[DueRow], *, is_fitted: bool) -> tuple[str, str]:
    """The earliest day owed and what for; in words where there is no day."""
    if not is_fitted:
        return "none yet", "owed once it is fitted"
    undated = [row for row in rows if row.due_on is None and row.status != "not_required"]
    days = [row.due_on for row in rows if row.due_on is not None]
    if not days:
        return "no date", _undated(undated) or "nothing is owed here"
    row = next(row for row in rows if row.due_on == min(days))
    words = [activity_words(row.activity)]
    if row.deferred_until:
        words.append(f"deferred to {day_words(row.deferred_until)}")
    words.append(_undated(undated))
    return day_words(min(days)), ", ".join(filter(None, words))


def _undated(rows: list[DueRow]) -> str:
    """What is owed without a day: said, so that a date beside it is not taken for all."""
    if not rows:
        return ""
    row = rows[0]
    more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
    return f"{activity_words(row.activity)}: {state_of(row.status).words}{more}".removeprefix(": ")
