"""A large part: relaxed, whole-valued choices fixed, a small exact problem for the rest, then one
neighbourhood after the other.

Deterministic: everything is limited by rounds, seed and nodes. Bounds come from the relaxed problem
of each goal with the values before it held; a goal whose value meets its bound is proved. The load
is not levelled here: its bound is said and the goal left unproved.
"""

from contextlib import suppress
from fractions import Fraction

import numpy as np

from fleet.calc.planning.cores import around, beside, narrowly, split
from fleet.calc.planning.direct import Standing, floor_of
from fleet.calc.planning.engine import OutOfTime, Run
from fleet.calc.planning.modelling import Held
from fleet.calc.planning.narrowing import Mask
from fleet.calc.planning.parts import GIVEN_UP, LATE, SUMS, UNPLACED, Numbers, Part
from fleet.calc.planning.relaxing import MISSED, Relaxed, at_least, relax

TIGHT = (100, 300)  # visits that may move while as many as can be are placed
CORES = (400, 800)  # and around the relaxed answer
NEIGHBOURS = 250  # and in one round
IDLE = 10  # rounds in a row that brought nothing: enough
NODES = 5  # of a narrow problem; more brought little where it was measured
DAYS = SUMS.index(GIVEN_UP)
COUNTS = SUMS[: SUMS.index(LATE)]


class Search:
    """One large part: the plan that stands, the goals held so far, and what guides the looking."""

    def __init__(self, part: Part, standing: Standing, run: Run):
        self.part, self.standing, self.run = part, standing, run
        self.held, self.aim = Held(), Held()
        self.random = np.random.default_rng(run.effort.seed)
        self.tight: Mask = np.zeros(len(part.visits), bool)
        self.guide: Relaxed | None = None

    def value(self, goal: str) -> int:
        return self.part.value(goal, self.standing.at)

    def is_better(self, at: Numbers, than: Numbers | None, goal: str = GIVEN_UP) -> bool:
        """In the goals up to one of them, in their order."""
        count = SUMS.index(goal) + 1
        return than is None or self.part.values(at)[:count] < self.part.values(than)[:count]

    def place_most(self) -> int:
        """As many lines placed as can be; answers the bound."""
        lowest = floor_of(self.part, UNPLACED, self.held)
        for is_tilted in (True, False):
            if self.value(UNPLACED) <= lowest:
                break
            self.run.say("placing as many as can be", 0, len(self.part.visits))
            relaxed = relax(self.part, UNPLACED, self.held, self.run, is_tilted=is_tilted)
            if relaxed is None:
                break
            lowest = max(lowest, at_least(relaxed.bound))
            self.standing.priced[UNPLACED] = relaxed.hours
            if is_tilted:
                self.place_around(relaxed, lowest)
        return lowest

    def place_around(self, relaxed: Relaxed, lowest: int) -> None:
        for size in TIGHT:
            if self.value(UNPLACED) > lowest:
                narrow = split(self.part, relaxed, size)
                self.tight |= narrow.free
                cost = narrow.cost(UNPLACED)
                found = narrowly(narrow, cost, self.held, self.run, nodes=NODES)
                if found is not None and self.is_better(found, self.standing.at, UNPLACED):
                    self.standing.at = found

    def aim_at_all(self) -> Numbers | None:
        """The fewest days given up as if every goal before could be had at its least; those are
        missed by as little as may be."""
        self.aim = Held([(UNPLACED, self.value(UNPLACED))])
        for goal in SUMS[1:DAYS]:
            self.aim.goals.append((goal, floor_of(self.part, goal, self.aim)))
        self.run.say("relaxing the days given up", 0, len(self.part.visits))
        self.guide = relax(self.part, GIVEN_UP, self.aim, self.run, is_elastic=True)
        found = None
        if self.guide is None:
            return None
        for size in CORES:
            self.run.say("fixing what is whole", size, len(self.part.visits))
            narrow = around(self.part, self.guide, size, found, self.tight)
            cost = narrow.cost(GIVEN_UP)
            new = narrowly(narrow, cost, self.aim, self.run, nodes=NODES, is_elastic=True)
            if new is not None and self.is_better(new, found):
                found = new
        return found

    def slots_to_try(self, goal: str, at: Numbers, guide: Relaxed) -> Numbers | None:
        """Those of a visit that could do better, and one that somebody else stands in."""
        part = self.part
        if goal in COUNTS:
            lines = -np.minimum.reduceat(part.costs[goal], part.starts[:-1])
            could = np.where(at < 0, lines, 0).astype(float)
        else:
            could = np.where(at >= 0, guide.excess[at], guide.left_out)
            could[could < 1e-6] = 0.0
        taken = part.slot[at[at >= 0]]
        if not could.sum() or not len(taken):
            return None
        visit = int(self.random.choice(len(could), p=could / could.sum()))
        own = np.arange(part.starts[visit], part.starts[visit + 1])
        best = own[np.argsort(guide.excess[own], kind="stable")][:3]
        stands = at[visit : visit + 1]
        pairs = np.append(best, stands[stands >= 0])
        return np.unique(np.append(part.slot[pairs], self.random.choice(taken)))

    def is_near(self, goal: str, at: Numbers, lowest: int) -> bool:
        value = self.part.value(goal, at)
        return value - lowest <= (self.run.effort.gap * value if goal == GIVEN_UP else 0)

    def rounds(self, goal: str, lowest: int, guide: Relaxed, at: Numbers, held: Held) -> Numbers:
        """Neighbourhoods one after the other, until the bound is met or nothing comes of it."""
        idle, most = 0, self.run.effort.rounds
        while not self.is_near(goal, at, lowest) and idle < IDLE and self.run.rounds < most:
            self.run.rounds += 1
            self.run.say("looking around", self.run.rounds, most)
            slots = self.slots_to_try(goal, at, guide)
            if slots is None:
                break
            found = self.look_beside(goal, guide, at, slots, held)
            idle += 1
            if found is not None:
                idle = 0 if self.part.value(goal, found) < self.part.value(goal, at) else idle
                at = found
        return at

    def look_beside(
        self, goal: str, guide: Relaxed, at: Numbers, slots: Numbers, held: Held
    ) -> Numbers | None:
        """A plan with less of the goal, or as much and fewer days given up; None: not found."""
        narrow = beside(self.part, guide, at, slots, NEIGHBOURS)
        cost = narrow.cost(goal)
        if goal != GIVEN_UP:
            cost = cost * MISSED + narrow.cost(GIVEN_UP)
        found = narrowly(narrow, cost, held, self.run, nodes=NODES)
        goals = (goal, GIVEN_UP)
        if found is None or not self.keeps(found, held):
            return None
        now, new = ([self.part.value(name, plan) for name in goals] for plan in (at, found))
        return found if new < now else None

    def keeps(self, at: Numbers, held: Held) -> bool:
        return all(self.part.value(goal, at) <= most for goal, most in held.goals)

    def go(self) -> None:
        most = self.place_most()
        self.standing.bounds[UNPLACED] = most
        aimed = self.aim_at_all()
        if aimed is not None and self.guide is not None:
            if self.part.value(UNPLACED, aimed) > self.value(UNPLACED):
                aimed = self.rounds(UNPLACED, most, self.guide, aimed, Held())
            if self.is_better(aimed, self.standing.at):
                self.standing.at = aimed
        for goal in SUMS:
            self.settle(goal)

    def settle(self, goal: str) -> None:
        """Improve on one goal with those before it held, and say what bounds it."""
        lowest = max(floor_of(self.part, goal, self.held), self.standing.bounds.get(goal, 0))
        guide = self.guide
        if self.value(goal) > lowest and goal != UNPLACED:
            if goal != GIVEN_UP or self.held.goals != self.aim.goals or guide is None:
                found = relax(self.part, goal, self.held, self.run)
                guide = found if found is not None and SUMS.index(goal) >= DAYS else guide
                bound = found.bound if found else lowest
            else:
                bound = guide.bound
            lowest = max(lowest, at_least(bound))
            if goal == GIVEN_UP and guide is not None:
                self.standing.priced[GIVEN_UP] = guide.hours
        self.standing.bounds[goal] = min(lowest, self.value(goal))
        if guide is not None:
            self.standing.at = self.rounds(goal, lowest, guide, self.standing.at, self.held)
        self.held.goals.append((goal, self.value(goal)))


def solve_by_search(part: Part, standing: Standing, run: Run) -> None:
    """Each goal of a large part as far as the effort goes; what stands is kept where time ends."""
    search = Search(part, standing, run)
    with suppress(OutOfTime):
        search.go()
    for goal in SUMS:
        standing.bounds.setdefault(goal, floor_of(part, goal, search.held))
    base = (Fraction(row.base, row.offered) for row in part.rows if row.slot is not None)
    standing.level_bound = max(base, default=None)
