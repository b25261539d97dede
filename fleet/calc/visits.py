"""Which lines of one position are served by one visit.

A larger activity does the smaller ones at the same time (`SATISFIES`); two rules that ask for the
same activity are served by one. A smaller line joins the larger one's visit where this takes
nothing away from the larger: the last slot that serves both is the last that serves the larger.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleet.calc.activities import SATISFIES
from fleet.calc.outages import Line, Slot, in_time


@dataclass(frozen=True)
class Owed:
    """A line of the plan with the activity it owes."""

    line: Line
    activity: str


def bundled(owed: Iterable[Owed], slots: Sequence[Slot]) -> list[list[Owed]]:
    """The visits of one position, each with its largest line first.

    slots: every slot work at this position might go to. A line no slot serves keeps to itself,
    so that it cannot hold back another.
    """
    left = sorted(owed, key=_largest_first)
    visits = []
    while left:
        main, *others = left
        last = _last(main.line, slots)
        visit, left = [main], []
        for other in others:
            joins = last is not None and _does(main, other) and _suits(other.line, last, slots)
            (visit if joins else left).append(other)
        visits.append(visit)
    return visits


def _largest_first(owed: Owed) -> tuple:
    due = owed.line.due_on
    return (-len(SATISFIES[owed.activity]), owed.activity, due is not None, due, str(owed.line.id))


def _does(main: Owed, other: Owed) -> bool:
    return other.activity in SATISFIES[main.activity]


def _last(line: Line, slots: Sequence[Slot]) -> Slot | None:
    """The last slot that serves it in time; without a date, the first of all."""
    serving = [slot for slot in slots if in_time(line, slot)]
    choose = min if line.due_on is None else max
    return choose(serving, key=_when, default=None)


def _suits(line: Line, last: Slot, slots: Sequence[Slot]) -> bool:
    """In time there; or late inside its leave, where that is as early as it can be at all."""
    if in_time(line, last):
        return True
    if any(in_time(line, slot) for slot in slots):
        return False
    late = [slot for slot in slots if line.until and slot.planned_on <= line.until]
    return bool(late) and min(late, key=_when) == last


def _when(slot: Slot) -> tuple:
    return (slot.planned_on, str(slot.id))
