"""A small part, solved straight: one goal after the other, each value held for the next."""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

import numpy as np

from fleet.calc.planning.engine import Answer, OutOfTime, Run
from fleet.calc.planning.modelling import Held, chosen, rows_of
from fleet.calc.planning.parts import SUMS, UNPLACED, Numbers, Part

NEAR = 1e-6  # what the solver may be out by, beside whole numbers


@dataclass
class Standing:
    """A part as it stands: an assignment that is possible, and a bound for each goal so far."""

    at: Numbers
    bounds: dict[str, int]
    level_bound: Fraction | None = None
    priced: dict[str, dict[int, float]] = field(default_factory=dict)  # by goal and slot


def floor_of(part: Part, goal: str, held: Held) -> int:
    """What a goal cannot be less than, each visit looked at alone."""
    lowest = np.minimum.reduceat(part.costs[goal], part.starts[:-1])
    if (UNPLACED, 0) not in held.goals:
        lowest = np.minimum(lowest, 0)  # a visit may be left out
    return part.constants[goal] + int(lowest.sum())


def exactly(part: Part, held: Held, solve: Callable[[], Answer]) -> tuple[Answer, Numbers | None]:
    """Solve until exact arithmetic agrees that the answer is possible."""
    while True:
        answer = solve()
        if answer.values is None:
            return answer, None
        at = chosen(part, answer.values)
        broken = part.overfull(at)
        if not broken:
            return answer, at
        held.cuts += broken


def solve_sums(part: Part, standing: Standing, run: Run, held: Held) -> None:
    for goal in SUMS:
        value, lowest = part.value(goal, standing.at), floor_of(part, goal, held)
        if value > lowest:
            lowest = max(lowest, _solve(part, goal, standing, run, held))
            value = part.value(goal, standing.at)
        standing.bounds[goal] = min(lowest, value)
        held.goals.append((goal, value))


def _solve(part: Part, goal: str, standing: Standing, run: Run, held: Held) -> int:
    """Improve on what stands; answers the bound."""
    whole = np.ones(len(part.owner))
    cost = part.costs[goal].astype(float)
    effort = run.effort
    answer, at = exactly(
        part,
        held,
        lambda: run.whole_numbers(
            cost, rows_of(part, held), whole, nodes=effort.nodes, gap=effort.gap
        ),
    )
    if at is not None and keeps(part, at, held) and better(part, goal, at, standing.at):
        standing.at = at
    if answer.is_proved and at is not None:
        return part.value(goal, at)
    if not np.isfinite(answer.bound):
        return floor_of(part, goal, held)
    return part.constants[goal] + ceil(answer.bound - NEAR * max(1.0, abs(answer.bound)))


def keeps(part: Part, at: Numbers, held: Held) -> bool:
    return all(part.value(goal, at) <= most for goal, most in held.goals)


def better(part: Part, goal: str, at: Numbers, than: Numbers) -> bool:
    return part.value(goal, at) <= part.value(goal, than)


def solve_level(part: Part, standing: Standing, run: Run, held: Held) -> None:
    """The last goal: no slot fuller, in shares of its hours, than it need be."""
    now = part.level(standing.at)
    least = max((Fraction(r.base, r.offered) for r in part.rows if r.slot is not None), default=now)
    standing.level_bound = least
    if now <= least:
        return
    cost = np.append(np.zeros(len(part.owner)), 1.0)
    whole = np.append(np.ones(len(part.owner)), 0.0)
    answer, at = exactly(
        part,
        held,
        lambda: run.whole_numbers(
            cost, rows_of(part, held, is_level=True), whole, nodes=run.effort.nodes, gap=0.0
        ),
    )
    if at is not None and keeps(part, at, held) and part.level(at) <= now:
        standing.at, now = at, part.level(at)
    found = Fraction(answer.bound - NEAR) if np.isfinite(answer.bound) else least
    standing.level_bound = (
        now if answer.is_proved and at is not None else min(max(found, least), now)
    )


def solve_directly(part: Part, standing: Standing, run: Run) -> None:
    """Each goal of a small part; what stands is kept where the time runs out."""
    held = Held()
    try:
        solve_sums(part, standing, run, held)
        solve_level(part, standing, run, held)
    except OutOfTime:
        for goal in SUMS:
            standing.bounds.setdefault(goal, floor_of(part, goal, held))
