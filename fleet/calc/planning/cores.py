"""Which part of a large part is worth solving exactly: around the relaxed answer, or around a visit
of the plan that stands."""

import numpy as np
from numpy.typing import NDArray

from fleet.calc.planning.engine import Floats, Run
from fleet.calc.planning.modelling import Held
from fleet.calc.planning.narrowing import Mask, Narrow
from fleet.calc.planning.parts import Numbers, Part
from fleet.calc.planning.relaxing import Relaxed, cheapest, weights

TIE = 1e-6
TRIES = 5  # times that exact arithmetic may refuse what the solver took for possible


def regret(part: Part, relaxed: Relaxed, best: Numbers) -> Floats:
    """How much more the second best choice of each visit takes than the best."""
    others = relaxed.excess.copy()
    others[best[best >= 0]] = np.inf
    second = np.minimum.reduceat(others, part.starts[:-1])
    return np.where(best >= 0, np.minimum(second, relaxed.left_out), second)


def around(part: Part, relaxed: Relaxed, size: int, at: Numbers | None, tight: Mask) -> Narrow:
    """The visits whose choice is least certain free to move, and the `tight`; all others fixed to
    their best. Where there is a plan already, it is among what can be reached."""
    best = cheapest(part, relaxed)
    second = regret(part, relaxed, best)
    most = np.sort(second)[min(size, len(second)) - 1] + TIE
    free = (second <= most) | tight
    opened = (relaxed.excess <= most) | tight[part.owner]
    if at is not None:
        free = free | (at != best)
        opened[at[at >= 0]] = True
    return Narrow(part, best, free, opened, free)


def split(part: Part, relaxed: Relaxed, size: int) -> Narrow:
    """Whole-valued choices of the relaxed plan fixed; free are the others, and those next to
    changing. Ties by the thousand say nothing and stay."""
    taken = relaxed.shares > 1 - TIE
    best = np.full(len(part.visits), -1, np.int64)
    best[part.owner[taken]] = np.flatnonzero(taken)
    partly = (relaxed.shares > TIE) & ~taken
    second = regret(part, relaxed, cheapest(part, relaxed))
    second[second < TIE] = np.inf
    free = (second <= np.sort(second)[min(size, len(second)) - 1]) & np.isfinite(second)
    free[part.owner[partly]] = True
    return Narrow(part, best, free, np.ones(len(part.owner), bool), free)


def beside(
    part: Part, relaxed: Relaxed, at: Numbers, slots: NDArray[np.int64], size: int
) -> Narrow:
    """Free to move among a few slots are the visits that stand in them, or nowhere: as many as lose
    least by it. All others stay where they stand."""
    inside = np.isin(part.slot, slots)
    stands = np.full(len(part.visits), -1, np.int64)
    stands[at >= 0] = part.slot[at[at >= 0]]
    own = np.where(at >= 0, relaxed.excess[at], relaxed.left_out)
    may = inside & (np.isin(stands, slots) | (at < 0))[part.owner]
    loss = np.where(may, relaxed.excess - own[part.owner], np.inf)
    loss[at[at >= 0]] = np.inf
    least = np.minimum.reduceat(loss, part.starts[:-1])
    leaves = np.where(np.isin(stands, slots), relaxed.left_out - own, np.inf)
    least = np.minimum(least, leaves)
    order = np.argsort(least, kind="stable")[:size]
    free = np.zeros(len(part.visits), bool)
    free[order[np.isfinite(least[order])]] = True
    opened = may.copy()
    opened[at[at >= 0]] = True
    return Narrow(part, at, free, opened, free)


def narrowly(
    narrow: Narrow,
    cost: Floats,
    held: Held,
    run: Run,
    *,
    nodes: int,
    is_elastic: bool = False,
) -> Numbers | None:
    """The solver's best plan within a narrow one, exactly possible; None: none found."""
    extra = weights(held) if is_elastic else np.zeros(0)
    whole = np.append(np.ones(len(cost)), np.zeros(len(extra)))
    if not len(cost):
        return None
    for _ in range(TRIES):
        rows = narrow.rows(held, is_elastic=is_elastic)
        answer = run.whole_numbers(
            np.append(cost, extra), rows, whole, nodes=nodes, gap=1e-6, is_narrow=True
        )
        if answer.values is None:
            return None
        at = narrow.widened(answer.values[: len(cost)])
        broken = narrow.part.overfull(at)
        if not broken:
            return at
        held.cuts += broken
    return None
