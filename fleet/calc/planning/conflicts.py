"""Pins that cannot all hold, each explained from the exact figures behind it."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fleet.calc.planning.checks import checked
from fleet.calc.planning.facts import Problem, Slot, Visit
from fleet.calc.planning.timing import serves

NOT_OF_UNIT, BARRED, PAST_DUE = "not_of_unit", "barred", "past_due"
BEYOND_HOURS, BEYOND_ROOM = "beyond_hours", "beyond_room"
SENTENCES = {
    NOT_OF_UNIT: "{visit} is pinned to {slot}, which is not one of its outages or weeks",
    BARRED: "{visit} is pinned to {slot} and barred from it",
    PAST_DUE: "{visit} is pinned to {slot} on {planned_on}, past its due date {due_on}{deferral}",
    BEYOND_HOURS: "{slot} offers {offered} h; pinned to it: {needed} h ({visits})",
    BEYOND_ROOM: "work pinned to {slot} takes {needed} where {room} can be spared ({visits})",
}


@dataclass(frozen=True)
class Conflict:
    """`visit` is None where several are at odds: `figures["visits"]` are they."""

    kind: str
    visit: Hashable | None
    slot: Hashable
    figures: Mapping[str, Any] = field(default_factory=dict)

    def words(
        self,
        visit_name: Callable[[Any], str] = str,
        slot_name: Callable[[Any], str] = str,
    ) -> str:
        """One sentence, without its full stop; the caller names visits and slots."""
        figures = dict(self.figures)
        names = ", ".join(visit_name(each) for each in figures.pop("visits", ()))
        until = figures.get("until")
        deferral = f", and past its deferral until {until}" if until else ", with no deferral"
        visit = "" if self.visit is None else visit_name(self.visit)
        return SENTENCES[self.kind].format(
            visit=visit, slot=slot_name(self.slot), visits=names, deferral=deferral, **figures
        )


class Conflicting(Exception):
    """The pins cannot all hold: nothing is proposed."""

    def __init__(self, conflicts: tuple[Conflict, ...]):
        super().__init__("; ".join(conflict.words() for conflict in conflicts))
        self.conflicts = conflicts


def _alone(problem: Problem, visit: Visit, slot: Slot) -> Iterator[Conflict]:
    """What is wrong with one pin, whatever else is pinned."""
    if slot.id not in visit.slots:
        yield Conflict(NOT_OF_UNIT, visit.id, slot.id)
    if (visit.id, slot.id) in problem.bars:
        yield Conflict(BARRED, visit.id, slot.id)
    for line in visit.lines:
        if not serves(line, slot, problem.from_on):
            figures = {"planned_on": slot.planned_on, "due_on": line.due_on, "until": line.until}
            yield Conflict(PAST_DUE, visit.id, slot.id, figures | {"line": line.id})


def _together(problem: Problem, visits: dict[Hashable, Visit]) -> Iterator[Conflict]:
    """Pins that ask more of one slot than it has."""
    pinned: dict[Hashable, list[Hashable]] = defaultdict(list)
    for name, slot_id in problem.pins.items():
        pinned[slot_id].append(name)
    for slot in problem.slots:
        names = sorted(pinned[slot.id], key=repr)
        needed = sum((visits[name].hours for name in names), Decimal(0))
        exact = sum(Fraction(visits[name].hours) for name in names)
        if slot.hours is not None and exact > slot.hours:
            figures = {"needed": needed, "offered": slot.hours, "visits": tuple(names)}
            yield Conflict(BEYOND_HOURS, None, slot.id, figures)
    for room in problem.rooms:
        inside = tuple(n for n in sorted(pinned[room.slot], key=repr) if room.amounts.get(n))
        taken = sum(room.amounts[name] for name in inside)
        if taken > room.room:
            figures = {"needed": taken, "room": room.room, "visits": inside}
            yield Conflict(BEYOND_ROOM, None, room.slot, figures)


def conflicts(problem: Problem) -> list[Conflict]:
    """Every way in which the pins contradict the problem or each other; empty when they do not."""
    checked(problem)
    visits = {visit.id: visit for visit in problem.visits}
    slots = {slot.id: slot for slot in problem.slots}
    pins = sorted(problem.pins.items(), key=lambda pin: repr(pin[0]))
    found = [c for name, at in pins for c in _alone(problem, visits[name], slots[at])]
    return found + list(_together(problem, visits))
