"""The relaxed problem of a large part: a bound, and how far each choice is from the best one.

The bound is worked out anew from the solver's prices by weak duality: with any prices not below
zero it holds, so nothing rests on the solver's tolerances.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np
from scipy import sparse

from fleet.calc.planning.engine import Floats, Run, Sparse
from fleet.calc.planning.modelling import Held, rows_of
from fleet.calc.planning.parts import GIVEN_UP, Numbers, Part

NEAR = 1e-6
TILT = 1e-7  # of a line, for each day: keeps the relaxed problem of a count from being all ties
MISSED = 300_000.0  # days that missing a goal by one counts for, while a first plan is sought


def at_least(figure: float) -> int:
    """The least whole number that a sum of whole numbers can be, told it is not below `figure`."""
    return ceil(figure - NEAR - 1e-10 * abs(figure))


@dataclass(frozen=True)
class Relaxed:
    """`shares`: how much of each pair the relaxed plan takes. `excess`: how much more a pair costs
    than the best choice of its visit once hours are paid for; `left_out`: the same of no choice.
    `hours`: what one more hour in a slot takes off the goal."""

    bound: float
    shares: Floats
    excess: Floats
    left_out: Floats
    hours: dict[int, float]


def per_hour(part: Part, prices: Floats) -> dict[int, float]:
    """Prices of a part's rows, each for its whole limit, as prices of an hour by slot."""
    return {
        row.slot: float(price) * row.scale / max(row.limit, 1)
        for row, price in zip(part.rows, prices, strict=False)
        if row.slot is not None
    }


def weights(held: Held) -> Floats:
    """What missing each of the goals held costs, the first the most."""
    return np.array([MISSED / 2**number for number in range(len(held.goals))])


def _elastic(rows: Sparse, held: Held, width: int) -> Sparse:
    """The rows of the goals held, each with a column of its own that takes what is too much."""
    columns, factors = list(rows.columns), list(rows.factors)
    first = len(columns) - len(held.cuts) - len(held.goals)
    for number in range(len(held.goals)):
        columns[first + number] = np.append(columns[first + number], width + number)
        factors[first + number] = np.append(factors[first + number], -rows.units[number])
    return Sparse(tuple(columns), tuple(factors), rows.most, rows.least, rows.units)


def relax(
    part: Part,
    goal: str,
    held: Held,
    run: Run,
    *,
    is_elastic: bool = False,
    is_tilted: bool = True,
) -> Relaxed | None:
    """None where the solver had no answer. With `is_elastic` goals held may be missed at a price;
    the bound is of plans that do not. `is_tilted`: quicker, the bound a trace lower."""
    cost = part.costs[goal].astype(float)
    width, count = len(cost), len(part.visits)
    rows = rows_of(part, held)
    tilted = cost if goal == GIVEN_UP else cost + TILT * part.costs[GIVEN_UP] * is_tilted
    if is_elastic:
        upper = np.append(np.ones(width), np.full(len(held.goals), np.inf))
        elastic = _elastic(rows, held, width)
        result = run.relaxed(np.append(tilted, weights(held)), elastic, upper)
    else:
        result = run.relaxed(tilted, rows, np.ones(width))
    if result.status != 0:
        return None
    prices = np.maximum(-result.ineqlin.marginals, 0.0)[count:]
    matrix: sparse.csr_matrix = rows.matrix(width)[count:]
    priced = cost + matrix.T @ prices
    lowest = np.minimum(np.minimum.reduceat(priced, part.starts[:-1]), 0.0)
    paid = float(np.array(rows.most[count:]) @ prices)
    bound = part.constants[goal] + float(lowest.sum()) - paid
    excess = priced - lowest[part.owner]
    return Relaxed(bound, result.x[:width], excess, -lowest, per_hour(part, prices))


def cheapest(part: Part, relaxed: Relaxed) -> Numbers:
    """The choice of each visit with the least excess: a pair, or -1 for being left out. Among equal
    ones what the relaxed plan takes most of."""
    order = np.lexsort((-relaxed.shares, np.round(relaxed.excess, 7), part.owner))
    first = order[part.starts[:-1]]
    return np.where(relaxed.left_out < relaxed.excess[first] - 1e-7, -1, first)
