"""A part, or some of its pairs, as rows for the solver."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fleet.calc.planning.engine import Floats, Sparse
from fleet.calc.planning.parts import Numbers, Part, Row


@dataclass
class Held:
    """What an answer must keep to besides the part's own rows: the goals before, and sets of pairs
    that the solver took for possible and exact arithmetic did not."""

    goals: list[tuple[str, int]] = field(default_factory=list)  # name, the most it may come to
    cuts: list[list[int]] = field(default_factory=list)  # pairs that never go together


def rows_of(part: Part, held: Held, *, is_level: bool = False) -> Sparse:
    """One for each visit (at most one place), each limit, each goal held, each cut; with
    `is_level` a last column, the share of the fullest slot, and its rows."""
    columns: list[NDArray[np.int64]] = []
    factors: list[Floats] = []
    most: list[float] = []
    units: list[float] = []

    def add(pairs: Numbers, by: Floats, limit: float) -> None:
        columns.append(pairs)
        factors.append(by)
        most.append(limit)

    for first, last in zip(part.starts[:-1], part.starts[1:], strict=True):
        add(np.arange(first, last), np.ones(last - first), 1.0)
    for row in part.rows:
        add(row.pairs, row.shares, 1.0 if row.limit else 0.0)
    for goal, value in held.goals:
        cost = part.costs[goal]
        inside = np.flatnonzero(cost)
        largest = float(np.abs(cost).max(initial=1))
        add(inside, cost[inside] / largest, (value - part.constants[goal]) / largest)
        units.append(1.0 / largest)
    for cut in held.cuts:
        add(np.array(cut, np.int64), np.ones(len(cut)), len(cut) - 1.0)
    if is_level:
        for row in part.rows:
            if row.slot is not None:
                add(*_level_row(row, len(part.owner)))
    return Sparse(tuple(columns), tuple(factors), tuple(most), units=tuple(units))


def _level_row(row: Row, last: int) -> tuple[Numbers, Floats, float]:
    shares = np.array([amount / row.offered for amount in row.amounts] + [-1.0])
    return np.append(row.pairs, last), shares, -row.base / row.offered


def chosen(part: Part, values: Floats) -> Numbers:
    """The pair of each visit in a solver's answer, -1 for none."""
    at = np.full(len(part.visits), -1, np.int64)
    pairs = np.flatnonzero(values[: len(part.owner)] > 0.5)
    at[part.owner[pairs]] = pairs
    return at
