"""Small random problems for the planner, and every answer to them tried one by one.

The oracle shares no code with the planner: it reads the definitions of the plan anew.
"""

import random
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import product

from fleet.calc.outages import Line, Problem, Room, Slot, Visit

FROM = date(2026, 1, 1)
HOURS = ("0.1", "0.2", "0.3", "0.7", "1.25", "2", "0")


def day(number):
    return FROM + timedelta(number)


def a_line(rng, name):
    kind = rng.random()
    if kind < 0.15:
        return Line(name, None)
    due = rng.choice((-20, 5, 20, 40, 60, 80))
    return Line(name, day(due), day(due + 40) if rng.random() < 0.3 else None)


def a_slot(rng, name):
    hours = None if rng.random() < 0.2 else Decimal(rng.choice(("0.3", "0.8", "1.5", "2.5", "4")))
    return Slot(name, day(rng.choice((0, 10, 20, 30, 45, 60, 75))), hours, rng.random() < 0.3)


def a_problem(seed):
    """Two to five visits of one to three lines, two or three slots: at most 1,024 plans."""
    rng = random.Random(seed)
    slots = tuple(a_slot(rng, f"S{n}") for n in range(rng.randint(2, 3)))
    names = [slot.id for slot in slots]
    visits = tuple(
        Visit(
            f"V{n}",
            tuple(a_line(rng, f"V{n}/{k}") for k in range(rng.choice((1, 1, 1, 2, 3)))),
            Decimal(rng.choice(HOURS)),
            tuple(name for name in names if rng.random() < 0.85),
            rng.choice((0, 0, 1, 2)),
        )
        for n in range(rng.randint(2, 5))
    )
    return Problem(
        FROM,
        slots,
        visits,
        rooms=tuple(a_room(rng, slot, visits) for slot in slots if rng.random() < 0.4),
        pins={v.id: rng.choice(v.slots) for v in visits if v.slots and rng.random() < 0.1},
        bars=frozenset((v.id, s) for v in visits for s in names if rng.random() < 0.1),
        accepted={v.id: rng.choice([*names, None]) for v in visits if rng.random() < 0.6},
    )


def a_room(rng, slot, visits):
    amounts = {v.id: Fraction(rng.randint(0, 3), 3) for v in visits if rng.random() < 0.7}
    return Room(slot.id, amounts, Fraction(rng.randint(1, 5), 3))


def serves(line, slot):
    if line.due_on is None or slot.planned_on <= line.due_on:
        return True
    deferred = line.until is not None and slot.planned_on <= line.until
    return deferred or (slot.is_online and line.due_on < FROM)


def is_possible(problem, plan):
    slots = {slot.id: slot for slot in problem.slots}
    for visit in problem.visits:
        at = plan[visit.id]
        if problem.pins.get(visit.id, at) != at:
            return False
        if at is None:
            continue
        if at not in visit.slots or (visit.id, at) in problem.bars:
            return False
        if not all(serves(line, slots[at]) for line in visit.lines):
            return False
    for slot in problem.slots:
        used = sum(Fraction(v.hours) for v in problem.visits if plan[v.id] == slot.id)
        if slot.hours is not None and used > slot.hours:
            return False
    return all(
        sum(a for name, a in room.amounts.items() if plan[name] == room.slot) <= room.room
        for room in problem.rooms
    )


def values(problem, plan):
    """Every goal in order, read off the plan."""
    slots = {slot.id: slot for slot in problem.slots}
    unplaced, severe, moderate, late, given_up, waited = 0, 0, 0, 0, 0, 0
    for visit in problem.visits:
        if plan[visit.id] is None:
            unplaced += len(visit.lines)
            severe += len(visit.lines) * (visit.severity == 2)
            moderate += len(visit.lines) * (visit.severity == 1)
            continue
        on = slots[plan[visit.id]].planned_on
        for line in visit.lines:
            if line.due_on is None:
                waited += (on - FROM).days
            else:
                late += max((on - line.due_on).days, 0)
                given_up += max((line.due_on - on).days, 0)
    changes = sum(1 for v in problem.visits if plan[v.id] != problem.accepted.get(v.id, plan[v.id]))
    shares = [
        sum(Fraction(v.hours) for v in problem.visits if plan[v.id] == s.id) / Fraction(s.hours)
        for s in problem.slots
        if s.hours is not None
    ]
    level = max(shares, default=Fraction(0))
    return unplaced, severe, moderate, late, given_up, waited, changes, level


def best(problem):
    """The goals of the best of all plans; None where no plan keeps the pins."""
    names = [visit.id for visit in problem.visits]
    places = [*(slot.id for slot in problem.slots), None]
    plans = (dict(zip(names, plan, strict=True)) for plan in product(places, repeat=len(names)))
    return min(
        (values(problem, plan) for plan in plans if is_possible(problem, plan)), default=None
    )
