"""A field cut into parts that share no slot's hours and no room, each as arrays for the solver.

Every goal but the last is a sum over visits, and the last a largest share: what is best in each
part is best together.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]
UNPLACED, UNPLACED_SEVERE, UNPLACED_MODERATE = "unplaced", "unplaced_severe", "unplaced_moderate"
LATE, GIVEN_UP, WAITED = "days_late", "days_given_up", "days_waited"
CHANGES, LEVEL = "changes", "level"
SUMS = (UNPLACED, UNPLACED_SEVERE, UNPLACED_MODERATE, LATE, GIVEN_UP, WAITED, CHANGES)


@dataclass(frozen=True)
class Row:
    """Sum of `amounts` of the chosen among `pairs` is at most `limit`: integers of one scale.

    `slot`: whose bench hours these are, with `base` of them taken by visits that are fixed there
    and `offered` in all; None for a room.
    """

    pairs: Numbers
    amounts: tuple[int, ...]
    limit: int
    slot: int | None = None
    base: int = 0
    offered: int = 0
    scale: int = 1

    @cached_property
    def shares(self) -> NDArray[np.float64]:
        """Amounts as shares of the limit, what the solver is given."""
        return np.array([float(Fraction(a, max(self.limit, 1))) for a in self.amounts])

    @cached_property
    def amount_of(self) -> dict[int, int]:
        return dict(zip(self.pairs.tolist(), self.amounts, strict=True))

    def taken(self, chosen: Iterable[int]) -> int:
        return sum(self.amount_of.get(pair, 0) for pair in chosen)


@dataclass(frozen=True)
class Part:
    """Pairs (visit, slot) in rising order of visit: `owner` counts visits of this part from 0."""

    visits: tuple[int, ...]  # their places in the field
    owner: Numbers
    slot: Numbers
    starts: Numbers  # the first pair of each visit, and one past the last
    costs: dict[str, Numbers]
    constants: dict[str, int]
    rows: tuple[Row, ...]

    def value(self, goal: str, at: Numbers) -> int:
        """What a goal comes to; `at` holds a pair for each visit, or -1."""
        return self.constants[goal] + int(self.costs[goal][at[at >= 0]].sum())

    def values(self, at: Numbers) -> tuple[int, ...]:
        return tuple(self.value(goal, at) for goal in SUMS)

    def overfull(self, at: Numbers) -> list[tuple[Row, list[int]]]:
        """The rows that an assignment breaks, in exact arithmetic, each with who is in it."""
        chosen = at[at >= 0].tolist()
        return [
            (row, [pair for pair in chosen if row.amount_of.get(pair)])
            for row in self.rows
            if row.taken(chosen) > row.limit
        ]

    def level(self, at: Numbers) -> Fraction:
        """The share of its offered hours that the fullest slot uses."""
        chosen = at[at >= 0].tolist()
        shares = [
            Fraction(row.base + row.taken(chosen), row.offered)
            for row in self.rows
            if row.slot is not None
        ]
        return max(shares, default=Fraction(0))
