"""The next best place of one visit, without solving anything again."""

from collections.abc import Hashable
from fractions import Fraction

from fleet.calc.planning.facts import Alternative, Problem, Proposal, Slot, Visit
from fleet.calc.planning.timing import Days, days, fits


def _has_room(problem: Problem, proposal: Proposal, visit: Visit, slot: Slot) -> bool:
    """Whether a visit fits beside all others where the proposal has them."""
    inside = {name for name, at in proposal.placed.items() if at == slot.id} | {visit.id}
    if slot.hours is not None:
        taken = sum(Fraction(each.hours) for each in problem.visits if each.id in inside)
        if taken > slot.hours:
            return False
    rooms = (room for room in problem.rooms if room.slot == slot.id)
    return all(
        sum(room.amounts.get(name, Fraction(0)) for name in inside) <= room.room for room in rooms
    )


def next_best(problem: Problem, proposal: Proposal, visit_id: Hashable) -> Alternative | None:
    """The cheapest other slot with room; with none that has room, the cheapest that is full.

    None where no other slot serves every line of the visit. KeyError: no such visit.
    """
    visit = {each.id: each for each in problem.visits}[visit_id]
    slots = {slot.id: slot for slot in problem.slots}
    at = proposal.placed[visit_id]
    now = days(visit, slots[at], problem.from_on) if at is not None else Days(0, 0, 0)
    found = []
    for name in dict.fromkeys(visit.slots):
        slot = slots[name]
        barred = (visit_id, name) in problem.bars
        if name == at or barred or not fits(visit, slot, problem.from_on):
            continue
        cost = days(visit, slot, problem.from_on)
        found.append((not _has_room(problem, proposal, visit, slot), cost, repr(name), name))
    if not found:
        return None
    is_full, cost, _, name = min(found, key=lambda each: each[:3])
    return Alternative(name, cost.total - now.total, not is_full)
