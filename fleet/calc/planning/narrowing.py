"""A large part narrowed to some of its choices: all other visits stay where they are."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.calc.planning.engine import Floats, Sparse
from fleet.calc.planning.modelling import Held
from fleet.calc.planning.parts import Numbers, Part

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Narrow:
    """`at`: where each visit stands; `free`: who may move; `open`: pairs they may take; `optional`:
    who of them may be left out."""

    part: Part
    at: Numbers
    free: Mask
    open: Mask
    optional: Mask

    @property
    def columns(self) -> Numbers:
        return np.flatnonzero(self.open & self.free[self.part.owner])

    @property
    def staying(self) -> Numbers:
        """Pairs taken by visits that may not move."""
        pairs = self.at[~self.free]
        return pairs[pairs >= 0]

    def cost(self, goal: str) -> Floats:
        return self.part.costs[goal][self.columns].astype(float)

    def base(self, goal: str) -> int:
        """What the goal comes to before anybody free is placed."""
        return self.part.constants[goal] + int(self.part.costs[goal][self.staying].sum())

    def rows(self, held: Held, *, is_elastic: bool = False) -> Sparse:
        """With `is_elastic` a further column for each goal held: how far it is missed."""
        part, columns, staying = self.part, self.columns, self.staying
        place = np.full(len(part.owner), -1, np.int64)
        place[columns] = np.arange(len(columns))
        stays = np.zeros(len(part.owner), bool)
        stays[staying] = True
        found: list[tuple[Numbers, Floats, float, float]] = []
        owners, starts = np.unique(part.owner[columns], return_index=True)
        ends = np.append(starts[1:], len(columns))
        for owner, first, last in zip(owners, starts, ends, strict=True):
            least = -np.inf if self.optional[owner] else 1.0
            found.append((np.arange(first, last), np.ones(last - first), least, 1.0))
        for row in part.rows:
            inside = place[row.pairs]
            here = inside >= 0
            if here.any():
                left = max(1.0 - float(row.shares[stays[row.pairs]].sum()), 0.0)
                found.append((inside[here], row.shares[here], -np.inf, left))
        for number, (goal, value) in enumerate(held.goals):
            cost = self.cost(goal)
            inside = np.flatnonzero(cost)
            largest = float(np.abs(cost).max(initial=1.0))
            limit = (value - self.base(goal)) / largest
            shares = cost[inside] / largest
            if is_elastic:
                inside = np.append(inside, len(columns) + number)
                shares = np.append(shares, -1.0 / largest)
            found.append((inside, shares, -np.inf, limit))
        for cut in held.cuts:
            self._cut(cut, place, stays, found)
        pairs, factors, least_, most = zip(*found, strict=True)
        return Sparse(pairs, factors, most, least_)

    def _cut(
        self,
        cut: list[int],
        place: Numbers,
        stays: Mask,
        found: list[tuple[Numbers, Floats, float, float]],
    ) -> None:
        inside = place[np.array(cut)]
        here = inside[inside >= 0]
        limit = len(cut) - 1.0 - int(stays[np.array(cut)].sum())
        if len(here):
            found.append((here, np.ones(len(here)), -np.inf, limit))

    def widened(self, values: Floats) -> Numbers:
        """The solver's answer as an assignment of the whole part."""
        at = np.where(self.free, -1, self.at)
        pairs = self.columns[values > 0.5]
        at[self.part.owner[pairs]] = pairs
        return at
