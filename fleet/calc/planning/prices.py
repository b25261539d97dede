"""What one more bench hour in a slot would bring: the marginals of the relaxed problem."""

from collections import defaultdict
from decimal import Decimal

import numpy as np

from fleet.calc.planning.engine import Run
from fleet.calc.planning.modelling import Held, rows_of
from fleet.calc.planning.parts import GIVEN_UP, SUMS, UNPLACED, Numbers, Part


def marginals(part: Part, goal: str, at: Numbers, run: Run) -> dict[int, float]:
    """By slot: how much the relaxed goal falls with one more hour, the goals before it held where
    the plan has them."""
    before = SUMS[: SUMS.index(goal)]
    held = Held([(name, part.value(name, at)) for name in before])
    cost = part.costs[goal].astype(float)
    result = run.relaxed(cost, rows_of(part, held), np.ones(len(cost)))
    if result.status != 0:
        return {}
    found: dict[int, float] = defaultdict(float)
    falls = -result.ineqlin.marginals[len(part.visits) :]
    for row, fall in zip(part.rows, falls, strict=False):
        if row.slot is not None:
            found[row.slot] += float(fall) * row.scale / max(row.limit, 1)
    return found


def _rounded(found: dict[int, float]) -> dict[int, Decimal]:
    return {slot: Decimal(f"{max(figure, 0.0):.2f}") for slot, figure in found.items()}


def prices(part: Part, at: Numbers, run: Run) -> tuple[dict[int, Decimal], dict[int, Decimal]]:
    """Days saved, and unplaced lines let in, by one more hour in each slot of a part."""
    days = marginals(part, GIVEN_UP, at, run)
    lets_in = marginals(part, UNPLACED, at, run) if part.value(UNPLACED, at) else {}
    return _rounded(days), _rounded(lets_in)
