"""The proposal: each part solved, put together again, and valued exactly as a whole."""

from collections.abc import Hashable
from decimal import Decimal
from fractions import Fraction

import numpy as np

from fleet.calc.planning.conflicts import Conflicting, conflicts
from fleet.calc.planning.cutting import parts, whole
from fleet.calc.planning.direct import Standing, solve_directly
from fleet.calc.planning.engine import OutOfTime, Run
from fleet.calc.planning.facts import (
    FEASIBLE,
    OPTIMAL,
    STOPPED,
    Effort,
    Goal,
    Problem,
    Progress,
    Proposal,
)
from fleet.calc.planning.greedy import by_hand
from fleet.calc.planning.parts import LEVEL, SUMS, Numbers, Part
from fleet.calc.planning.prices import prices
from fleet.calc.planning.pruning import Field, survey
from fleet.calc.planning.search import solve_by_search

USUAL = Effort()
SMALL = 600  # pairs of a visit and a slot: solved straight, with proof
Solved = list[tuple[Part, Standing]]


def nothing(doing: str, done: int, total: int) -> None:
    """Nobody is told."""


def propose(
    problem: Problem,
    effort: Effort = USUAL,
    progress: Progress = nothing,
) -> Proposal:
    """The best plan found, goal by goal, with what proves it.

    ValueError names bad input; Conflicting holds pins that cannot all hold. What `progress` raises
    is let through: that is how planning is cancelled.
    """
    found = conflicts(problem)
    if found:
        raise Conflicting(tuple(found))
    run = Run(effort, progress)
    run.say("looking at the choices", 0, len(problem.visits))
    field = survey(problem)
    solved = _solved(field, run)
    saved, let_in = _prices(solved, run)
    return _proposal(field, solved, run, saved, let_in)


def _solved(field: Field, run: Run) -> Solved:
    found, done = [], 0
    for part in parts(field):
        run.say("planning", done, len(field.visits))
        standing = Standing(by_hand(field, part), {})
        solve = solve_directly if len(part.owner) <= SMALL else solve_by_search
        solve(part, standing, run)
        found.append((part, standing))
        done += len(part.visits)
    return found


def _prices(solved: Solved, run: Run) -> tuple[dict[int, Decimal], dict[int, Decimal]]:
    """Those that were reached; where time ran out the run is marked, and the rest are missing."""
    saved: dict[int, Decimal] = {}
    let_in: dict[int, Decimal] = {}
    for part, standing in solved:
        run.say("pricing hours", len(saved), len(solved))
        try:
            days, lines = prices(part, standing, run)
        except OutOfTime:
            break
        saved |= days
        let_in |= lines
    return saved, let_in


def _together(field: Field, everything: Part, solved: Solved, *, fixed_only: bool) -> Numbers:
    """The pair of each visit in the whole."""
    at = np.full(len(field.visits), -1, np.int64)
    for number in field.fixed:
        at[number] = everything.starts[number]
    for part, standing in () if fixed_only else solved:
        for own, pair in enumerate(standing.at.tolist()):
            if pair >= 0:
                number = part.visits[own]
                at[number] = everything.starts[number] + pair - part.starts[own]
    return at


def _goals(field: Field, everything: Part, solved: Solved, at: Numbers) -> list[Goal]:
    goals = []
    for name in SUMS:
        value = everything.value(name, at)
        gap = sum(part.value(name, s.at) - s.bounds[name] for part, s in solved)
        goals.append(Goal(name, value, value - gap, gap == 0))
    fixed = everything.level(_together(field, everything, solved, fixed_only=True))
    level, least = everything.level(at), max([fixed, *(s.level_bound or 0 for _, s in solved)])
    least = min(Fraction(least), level)
    goals.append(Goal(LEVEL, _rounded(level), _rounded(least), least == level))
    return goals


def _rounded(share: Fraction) -> Decimal:
    return (Decimal(share.numerator) / Decimal(share.denominator)).quantize(Decimal("0.0001"))


def _proposal(
    field: Field,
    solved: Solved,
    run: Run,
    saved: dict[int, Decimal],
    let_in: dict[int, Decimal],
) -> Proposal:
    everything = whole(field)
    at = _together(field, everything, solved, fixed_only=False)
    if everything.overfull(at):
        raise AssertionError("a plan asks more of a slot than it has")
    placed: dict[Hashable, Hashable | None] = {}
    for visit, pair in zip(field.visits, at.tolist(), strict=True):
        placed[visit.id] = None if pair < 0 else field.slots[everything.slot[pair]].id
    goals = tuple(_goals(field, everything, solved, at))
    status = OPTIMAL if all(goal.is_proved for goal in goals) else FEASIBLE
    names = [slot.id for slot in field.slots]
    return Proposal(
        placed={visit.id: placed[visit.id] for visit in field.problem.visits},
        goals=goals,
        status=STOPPED if run.stopped_by_time else status,
        prices={names[s]: price for s, price in sorted(saved.items())},
        lets_in={names[s]: price for s, price in sorted(let_in.items())},
        rounds=run.rounds,
        nodes=run.nodes,
        stopped_by_time=run.stopped_by_time,
    )
