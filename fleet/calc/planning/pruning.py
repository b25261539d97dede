"""The choices worth looking at: what no best plan would take is left out, with a reason.

A slot is easy for a visit when no bench hours can turn it away there: none are known, the visit
takes none, or all who might go there fit together. A visit that shares rooms with m others always
finds one of its m + 1 best easy slots free of them, so nothing worse than the last of those is ever
needed. Equal ones are kept: later goals choose among them.
"""

from collections import defaultdict
from collections.abc import Hashable
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from fleet.calc.planning.facts import Problem, Slot, Visit
from fleet.calc.planning.timing import Days, days, fits


class Choice(NamedTuple):
    slot: int  # its place among the slots
    days: Days


@dataclass(frozen=True)
class Field:
    """A problem in canonical order, so that the order of typing changes nothing.

    `choices`: for each visit, ascending by cost. `fixed`: visits that have one place in every best
    plan, pinned there or wanting nothing that others want.
    """

    problem: Problem
    slots: tuple[Slot, ...]
    visits: tuple[Visit, ...]
    choices: tuple[tuple[Choice, ...], ...]
    fixed: frozenset[int]


def choices(problem: Problem) -> dict[Hashable, tuple[Hashable, ...]]:
    """For each visit the slots of its own that serve every line of it, by date."""
    slots = {slot.id: slot for slot in problem.slots}
    found = {}
    for visit in problem.visits:
        own = (slots[name] for name in dict.fromkeys(visit.slots))
        able = sorted(
            (slot for slot in own if fits(visit, slot, problem.from_on)),
            key=lambda slot: (slot.planned_on, repr(slot.id)),
        )
        found[visit.id] = tuple(slot.id for slot in able)
    return found


def _too_large(problem: Problem) -> set[tuple[Hashable, Hashable]]:
    """Visits that ask more of a room than it holds, with its slot."""
    return {
        (name, room.slot)
        for room in problem.rooms
        for name, amount in room.amounts.items()
        if amount > room.room
    }


def _open(
    problem: Problem, slots: dict[Hashable, tuple[int, Slot]]
) -> dict[Hashable, list[Choice]]:
    """Every choice that timing, bars, pins, hours and rooms leave to a visit on its own."""
    refused = problem.bars | _too_large(problem)
    found: dict[Hashable, list[Choice]] = {}
    able = choices(problem)
    for visit in problem.visits:
        names = able[visit.id]
        if visit.id in problem.pins:
            names = (problem.pins[visit.id],)
        found[visit.id] = []
        for name in names:
            number, slot = slots[name]
            if (visit.id, name) in refused or (slot.hours is not None and visit.hours > slot.hours):
                continue
            found[visit.id].append(Choice(number, days(visit, slot, problem.from_on)))
        found[visit.id].sort(key=lambda choice: (choice.days, choice.slot))
    return found


def fellows(problem: Problem) -> dict[Hashable, set[Hashable]]:
    """Who shares a room with whom, in any slot."""
    found: dict[Hashable, set[Hashable]] = defaultdict(set)
    for room in problem.rooms:
        inside = {name for name, amount in room.amounts.items() if amount}
        if sum((room.amounts[name] for name in inside), Fraction(0)) > room.room:
            for name in inside:
                found[name] |= inside - {name}
    return found


def _roomy(
    slots: tuple[Slot, ...], visits: tuple[Visit, ...], open_: list[list[Choice]]
) -> set[int]:
    """Slots whose hours hold everybody who might still go there."""
    asked = [Fraction(0)] * len(slots)
    for visit, choices_ in zip(visits, open_, strict=True):
        hours = Fraction(visit.hours)
        for choice in choices_:
            asked[choice.slot] += hours
    return {
        number
        for number, slot in enumerate(slots)
        if slot.hours is None or asked[number] <= slot.hours
    }


def _kept(visit: Visit, found: list[Choice], roomy: set[int], others: int) -> list[Choice]:
    easy = [c for c in found if not visit.hours or c.slot in roomy]
    if len(easy) <= others:
        return found
    limit = easy[others].days
    return [choice for choice in found if choice.days <= limit]


def survey(problem: Problem) -> Field:
    """The problem in canonical order, with the choices worth looking at. Cheap: no solver."""
    slots = tuple(sorted(problem.slots, key=lambda s: (s.planned_on, repr(s.id))))
    visits = tuple(sorted(problem.visits, key=lambda v: repr(v.id)))
    opened = _open(problem, {slot.id: (number, slot) for number, slot in enumerate(slots)})
    found = [opened[visit.id] for visit in visits]
    shared = fellows(problem)
    others = [len(shared.get(visit.id, ())) for visit in visits]
    count = -1
    while count != sum(map(len, found)):
        count = sum(map(len, found))
        roomy = _roomy(slots, visits, found)
        found = [_kept(v, c, roomy, n) for v, c, n in zip(visits, found, others, strict=True)]
    fixed = frozenset(
        number
        for number, (visit, left) in enumerate(zip(visits, found, strict=True))
        if visit.id in problem.pins
        or (len(left) == 1 and not others[number] and (not visit.hours or left[0].slot in roomy))
    )
    return Field(problem, slots, visits, tuple(tuple(each) for each in found), fixed)
