"""When a slot serves a line, and what it costs in days."""

from datetime import date
from typing import NamedTuple

from fleet.calc.planning.facts import Line, Slot, Visit


class Days(NamedTuple):
    """What a choice costs, compared in this order.

    `late` past the due date, `given_up` of good interval before it, `waited` from the plan's first
    day by lines that have no record and so no due date.
    """

    late: int
    given_up: int
    waited: int

    @property
    def total(self) -> int:
        return sum(self)


def in_time(line: Line, slot: Slot) -> bool:
    """A line without a record has no date to miss."""
    return line.due_on is None or slot.planned_on <= line.due_on


def serves(line: Line, slot: Slot, from_on: date) -> bool:
    """In time; late inside an approved deferral; late on stream where it is overdue already."""
    if line.due_on is None or slot.planned_on <= line.due_on:
        return True
    if line.until is not None and slot.planned_on <= line.until:
        return True
    return slot.is_online and line.due_on < from_on


def days(visit: Visit, slot: Slot, from_on: date) -> Days:
    """Summed over the lines of a visit, of a slot that serves them all."""
    late = given_up = waited = 0
    for line in visit.lines:
        if line.due_on is None:
            waited += max((slot.planned_on - from_on).days, 0)
        elif slot.planned_on > line.due_on:
            late += (slot.planned_on - line.due_on).days
        else:
            given_up += (line.due_on - slot.planned_on).days
    return Days(late, given_up, waited)


def fits(visit: Visit, slot: Slot, from_on: date) -> bool:
    return all(serves(line, slot, from_on) for line in visit.lines)
