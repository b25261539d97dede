"""A field cut into parts that share no slot's hours and no room, each as arrays for the solver.

Every goal but the last is a sum over visits, and the last a largest share: what is best in each
part is best together.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

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
    def numbers(self) -> NDArray[Any]:
        """Amounts as integers of the machine, or Python's own where those might overflow."""
        return np.array(self.amounts, np.int64 if self.offered < 2**40 else object)

    def taken(self, is_chosen: NDArray[np.bool_]) -> int:
        return int(self.numbers[is_chosen[self.pairs]].sum())


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

    def is_chosen(self, at: Numbers) -> NDArray[np.bool_]:
        """For each pair, whether the assignment takes it."""
        mask = np.zeros(len(self.owner), bool)
        mask[at[at >= 0]] = True
        return mask

    def overfull(self, at: Numbers) -> list[list[int]]:
        """The rows that an assignment breaks, in exact arithmetic: the pairs that are too many."""
        mask = self.is_chosen(at)
        broken = (row for row in self.rows if row.taken(mask) > row.limit)
        return [row.pairs[mask[row.pairs]].tolist() for row in broken]

    def level(self, at: Numbers) -> Fraction:
        """The share of its offered hours that the fullest slot uses."""
        mask = self.is_chosen(at)
        shares = (
            Fraction(row.base + row.taken(mask), row.offered)
            for row in self.rows
            if row.slot is not None
        )
        return max(shares, default=Fraction(0))
