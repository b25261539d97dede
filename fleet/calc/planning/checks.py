"""What a problem must be before anybody plans with it; each refusal names what is wrong."""

from collections.abc import Hashable, Iterable
from decimal import Decimal

from fleet.calc.planning.facts import MILD, SEVERE, Problem, Slot, Visit


def once(kind: str, ids: Iterable[Hashable]) -> set[Hashable]:
    seen: set[Hashable] = set()
    for name in ids:
        if name in seen:
            raise ValueError(f"{kind} {name!r} is given twice")
        seen.add(name)
    return seen


def known(kind: str, name: Hashable, among: set[Hashable], whose: str) -> None:
    if name not in among:
        raise ValueError(f"{whose} names {kind} {name!r}, which is not given")


def check_slot(slot: Slot) -> None:
    hours = slot.hours
    if hours is not None and not (Decimal(hours).is_finite() and hours > 0):
        raise ValueError(
            f"slot {slot.id!r} offers {hours} hours: more than zero, or None, expected"
        )


def check_visit(visit: Visit, slots: set[Hashable]) -> None:
    if not visit.lines:
        raise ValueError(f"visit {visit.id!r} serves no line")
    if not (Decimal(visit.hours).is_finite() and visit.hours >= 0):
        raise ValueError(f"visit {visit.id!r} takes {visit.hours} hours: zero or more expected")
    if not MILD <= visit.severity <= SEVERE:
        raise ValueError(f"visit {visit.id!r} has severity {visit.severity}: 0, 1 or 2 expected")
    for slot in visit.slots:
        known("slot", slot, slots, f"visit {visit.id!r}")


def checked(problem: Problem) -> Problem:
    """The problem itself. ValueError names the first thing that is wrong with it."""
    slots = once("slot", (slot.id for slot in problem.slots))
    visits = once("visit", (visit.id for visit in problem.visits))
    once("line", (line.id for visit in problem.visits for line in visit.lines))
    for slot in problem.slots:
        check_slot(slot)
    for visit in problem.visits:
        check_visit(visit, slots)
    for room in problem.rooms:
        known("slot", room.slot, slots, "a room")
        for name, amount in room.amounts.items():
            known("visit", name, visits, f"the room in slot {room.slot!r}")
            if amount < 0:
                raise ValueError(f"visit {name!r} takes {amount} of a room: zero or more expected")
    for name, slot_id in problem.pins.items():
        known("visit", name, visits, "a pin")
        known("slot", slot_id, slots, f"the pin of visit {name!r}")
    return problem
