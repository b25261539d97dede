"""How a field falls into parts."""

from collections import defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm

import numpy as np

from fleet.calc.planning.facts import MODERATE, SEVERE, Room
from fleet.calc.planning.parts import (
    CHANGES,
    GIVEN_UP,
    LATE,
    UNPLACED,
    UNPLACED_MODERATE,
    UNPLACED_SEVERE,
    WAITED,
    Numbers,
    Part,
    Row,
)
from fleet.calc.planning.pruning import Field


class _Union:
    """Which things hang together."""

    def __init__(self) -> None:
        self.parent: dict[Hashable, Hashable] = {}

    def find(self, item: Hashable) -> Hashable:
        root = item
        while self.parent.setdefault(root, root) != root:
            root = self.parent[root]
        while self.parent[item] != root:
            self.parent[item], item = root, self.parent[item]
        return root

    def join(self, one: Hashable, other: Hashable) -> None:
        self.parent[self.find(one)] = self.find(other)


@dataclass(frozen=True)
class _Limit:
    """Hours or a room, before it is known who of one part asks for them."""

    slot: int
    amounts: dict[int, Fraction]  # by the visit's place in the field
    room: Fraction
    is_hours: bool


def _order(at: int, room: Room) -> tuple[object, ...]:
    return at, room.room, sorted((repr(name), amount) for name, amount in room.amounts.items())


def _limits(field: Field) -> Iterator[_Limit]:
    asking: dict[int, list[int]] = defaultdict(list)
    for number, found in enumerate(field.choices):
        for choice in found:
            asking[choice.slot].append(number)
    for number, slot in enumerate(field.slots):
        if slot.hours is not None:
            hours = {v: Fraction(field.visits[v].hours) for v in asking[number]}
            hours = {v: h for v, h in hours.items() if h}
            yield _Limit(number, hours, Fraction(slot.hours), True)
    places = {slot.id: number for number, slot in enumerate(field.slots)}
    names = {visit.id: number for number, visit in enumerate(field.visits)}
    rooms = sorted(field.problem.rooms, key=lambda room: _order(places[room.slot], room))
    for room in rooms:
        at = places[room.slot]
        there = set(asking[at])
        amounts = {names[name]: Fraction(a) for name, a in room.amounts.items() if a}
        yield _Limit(
            at, {v: a for v, a in amounts.items() if v in there}, Fraction(room.room), False
        )


def _groups(field: Field, limits: list[_Limit]) -> list[list[int]]:
    """Visits that are not fixed, those together that some limit holds together."""
    union = _Union()
    free = [n for n, found in enumerate(field.choices) if found and n not in field.fixed]
    for count, limit in enumerate(limits):
        for visit in limit.amounts:
            if visit not in field.fixed:
                union.join(visit, ("limit", count))
    groups: dict[Hashable, list[int]] = defaultdict(list)
    for number in free:
        groups[union.find(number)].append(number)
    return list(groups.values())


def _row(limit: _Limit, pairs: dict[int, int], fixed: frozenset[int]) -> Row | None:
    """A limit as those of one part meet it: `pairs` by visit, what fixed visits take set apart."""
    own = {pairs[v]: amount for v, amount in limit.amounts.items() if v in pairs}
    if not own:
        return None
    base = sum((a for v, a in limit.amounts.items() if v in fixed), Fraction(0))
    scale = lcm(*(f.denominator for f in (*own.values(), base, limit.room)))
    pair_numbers = sorted(own)
    return Row(
        np.array(pair_numbers, np.int64),
        tuple(int(own[pair] * scale) for pair in pair_numbers),
        int((limit.room - base) * scale),
        limit.slot if limit.is_hours else None,
        int(base * scale),
        int(limit.room * scale),
        scale,
    )


def _costs(field: Field, numbers: list[int]) -> tuple[dict[str, Numbers], dict[str, int]]:
    """Each goal as a constant and a cost for each pair; a visit left out costs nothing here."""
    rows: list[tuple[int, ...]] = []
    totals = np.zeros(4, np.int64)
    for number in numbers:
        visit = field.visits[number]
        lines = len(visit.lines)
        severe, moderate = lines * (visit.severity == SEVERE), lines * (visit.severity == MODERATE)
        stands = field.problem.accepted.get(visit.id)
        was_placed = visit.id in field.problem.accepted and stands is not None
        counts = visit.id in field.problem.accepted
        totals += (lines, severe, moderate, was_placed)
        for slot, days in field.choices[number]:
            moved = 0 if not counts else 1 - was_placed
            moved -= was_placed and field.slots[slot].id == stands
            rows.append((-lines, -severe, -moderate, *days, moved))
    table = np.array(rows, np.int64).reshape(-1, 7).T
    names = (UNPLACED, UNPLACED_SEVERE, UNPLACED_MODERATE, LATE, GIVEN_UP, WAITED, CHANGES)
    constants = dict.fromkeys(names, 0)
    for name, total in zip((*names[:3], CHANGES), totals.tolist(), strict=True):
        constants[name] = total
    return dict(zip(names, table, strict=True)), constants


def _part(field: Field, numbers: list[int], limits: list[_Limit]) -> Part:
    counts = [len(field.choices[number]) for number in numbers]
    starts = np.concatenate(([0], np.cumsum(counts, dtype=np.int64)))
    owner = np.repeat(np.arange(len(numbers)), counts)
    slot = np.array([c.slot for n in numbers for c in field.choices[n]], np.int64)
    at: dict[int, dict[int, int]] = defaultdict(dict)
    for pair, (own, where) in enumerate(zip(owner.tolist(), slot.tolist(), strict=True)):
        at[where][numbers[own]] = pair
    rows = (_row(limit, at[limit.slot], field.fixed) for limit in limits)
    costs, constants = _costs(field, numbers)
    found = tuple(row for row in rows if row is not None)
    return Part(tuple(numbers), owner, slot, starts, costs, constants, found)


def parts(field: Field) -> list[Part]:
    """The free visits of a field, cut where nothing holds them together; fixed ones left out."""
    limits = list(_limits(field))
    touching: dict[int, list[_Limit]] = defaultdict(list)
    for limit in limits:
        for visit in limit.amounts:
            touching[visit].append(limit)
    found = []
    for numbers in _groups(field, limits):
        own = {id(limit): limit for number in numbers for limit in touching[number]}
        found.append(_part(field, numbers, list(own.values())))
    return found


def whole(field: Field) -> Part:
    """Every visit as one part, the fixed and those without a choice too: to value a plan by."""
    everybody = list(range(len(field.visits)))
    return _part(replace(field, fixed=frozenset()), everybody, list(_limits(field)))
