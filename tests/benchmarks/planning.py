"""Planning a plant, against its bounds and against earliest due first by hand.

`python -m tests.benchmarks.planning [JOBS OUTAGES [tight]]`; without figures 5,000 jobs in 24
outages and 20,000 in 60. `tight`: nothing that does not fit its last outage has room elsewhere, so
that hundreds of jobs must be left out. Seconds are of this process alone (others share the
machine); the memory is the most the process ever held, whatever it held before.
"""

import resource
import sys
from time import process_time

from fleet.calc.outages import Problem, Proposal, Slot, Visit, propose
from tests.benchmarks.turnarounds import grow

SIZES = ((5_000, 24, 10, 0.8), (20_000, 60, 30, 0.5))  # jobs, outages, seconds, percent
MEGABYTES = 500


def by_hand(problem: Problem) -> dict[int, int | None]:
    """Earliest due first into the last outage in time that fits."""
    left = {slot.id: slot.hours for slot in problem.slots}
    placed: dict[int, int | None] = {}
    for visit in sorted(problem.visits, key=lambda visit: visit.lines[0].due_on):
        own = in_time(problem, visit)
        fits = [slot.id for slot in own if left[slot.id] >= visit.hours]
        placed[visit.id] = fits[-1] if fits else None
        if fits:
            left[fits[-1]] -= visit.hours
    return placed


def in_time(problem: Problem, visit: Visit) -> list[Slot]:
    """The outages of a visit on or before its due date, by date."""
    slots = (problem.slots[name] for name in visit.slots)  # their ids are their places
    return [slot for slot in slots if slot.planned_on <= visit.lines[0].due_on]


def figures(problem: Problem, placed: dict[int, int | None]) -> tuple[int, int, int]:
    """Jobs left out; days given up; and of those, days before the last outage in time."""
    left_out = given_up = avoidable = 0
    for visit in problem.visits:
        at = placed[visit.id]
        if at is None:
            left_out += 1
        else:
            on = problem.slots[at].planned_on
            given_up += (visit.lines[0].due_on - on).days
            avoidable += (in_time(problem, visit)[-1].planned_on - on).days
    return left_out, given_up, avoidable


def told(proposal: Proposal, problem: Problem) -> None:
    for goal in proposal.goals:
        proved = "proved" if goal.is_proved else f"gap {goal.gap:.3%}"
        print(f"  {goal.name:20} {goal.value!s:>10} bound {goal.bound!s:>10}  {proved}")
    theirs, ours = figures(problem, by_hand(problem)), figures(problem, proposal.placed)
    days, early = theirs[1] / ours[1], theirs[2] / ours[2]
    print(f"  by hand: left out {theirs[0]} beside {ours[0]}; ratios: days given up {days:.2f},")
    print(f"  days before the last outage in time {early:.2f}")


def measure(jobs: int, outages: int, seconds: float, percent: float, *, is_tight: bool) -> bool:
    problem = grow(jobs, outages, is_roomy=not is_tight)
    began = process_time()
    proposal = propose(problem)
    taken = process_time() - began
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    days, unplaced = proposal.goal("days_given_up"), proposal.goal("unplaced")
    print(f"{jobs} jobs in {outages} outages: {proposal.status}, {proposal.rounds} rounds")
    told(proposal, problem)
    print(f"  {taken:.1f} s of {seconds} ({taken / seconds:.2f}), {held:.0f} MB of {MEGABYTES}")
    is_near = days.gap * 100 <= percent and unplaced.is_proved
    return is_near and taken <= seconds and held <= MEGABYTES


def main(arguments: list[str]) -> bool:
    sizes, is_tight = SIZES, "tight" in arguments
    if arguments[:1] not in ([], ["tight"]):
        jobs, outages = int(arguments[0]), int(arguments[1])
        sizes = ((jobs, outages, *(SIZES[0] if jobs <= SIZES[0][0] else SIZES[1])[2:]),)
    kept = [measure(*size, is_tight=is_tight) for size in sizes]
    return all(kept)


if __name__ == "__main__":
    sys.exit(not main(sys.argv[1:]))
