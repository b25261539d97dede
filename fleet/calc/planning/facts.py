"""What the planner is told and what it answers: frozen, exact, free of any database.

Hours are bench hours, days are calendar days. Identifiers are the caller's own and opaque here.
"""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

Progress = Callable[[str, int, int], None]  # what is being worked on, how much of it, of how much

OPTIMAL, FEASIBLE, STOPPED = "optimal", "feasible", "stopped"
MILD, MODERATE, SEVERE = 0, 1, 2


@dataclass(frozen=True)
class Slot:
    """One place work can go: an outage, or one week on stream. `hours` None: no limit known."""

    id: Hashable
    planned_on: date
    hours: Decimal | None
    is_online: bool = False


@dataclass(frozen=True)
class Line:
    """One row that the plan answers. No `due_on`: no record. `until`: an approved deferral."""

    id: Hashable
    due_on: date | None
    until: date | None = None


@dataclass(frozen=True)
class Visit:
    """One go at one position: every line of it is served by the slot it goes to, or none is.

    `slots`: wherever it might go at all, not yet judged in time. `hours` are zero where nobody gave
    any; the caller says so to people.
    """

    id: Hashable
    lines: tuple[Line, ...]
    hours: Decimal
    slots: tuple[Hashable, ...]
    severity: int = MILD


@dataclass(frozen=True)
class Room:
    """What the visits placed in one slot share: the sum of their amounts is at most `room`."""

    slot: Hashable
    amounts: Mapping[Hashable, Fraction]
    room: Fraction


@dataclass(frozen=True)
class Problem:
    """`pins`: where a visit must go. `bars`: where it must not. `accepted`: where it stands now.

    Bars and accepted places that name what is not in the problem mean nothing; a pin that does is
    bad input.
    """

    from_on: date
    slots: tuple[Slot, ...]
    visits: tuple[Visit, ...]
    rooms: tuple[Room, ...] = ()
    pins: Mapping[Hashable, Hashable] = field(default_factory=dict)
    bars: frozenset[tuple[Hashable, Hashable]] = frozenset()
    accepted: Mapping[Hashable, Hashable | None] = field(default_factory=dict)


@dataclass(frozen=True)
class Effort:
    """How hard to look. The same effort gives the same answer on any machine, unless `seconds` of
    wall time abort it, which the answer then says. `gap`: a relative gap that is near enough."""

    gap: float = 0.0
    rounds: int = 60
    nodes: int = 5000
    seed: int = 1
    seconds: float = 600


@dataclass(frozen=True)
class Goal:
    """What one goal came to, and the bound nothing can beat while the goals before it hold."""

    name: str
    value: int | Decimal
    bound: int | Decimal
    is_proved: bool

    @property
    def gap(self) -> float:
        """Relative to the value; zero when the bound is met."""
        return float((self.value - self.bound) / self.value) if self.value else 0.0


@dataclass(frozen=True)
class Proposal:
    """Where each visit goes (None: nowhere), goal by goal, and what more bench hours would bring.

    `prices`: days of good interval one more bench hour in a slot would save. `lets_in`: unplaced
    lines it would let in. Both are prices of the relaxed problem, true for small changes only.
    """

    placed: Mapping[Hashable, Hashable | None]
    goals: tuple[Goal, ...]
    status: str
    prices: Mapping[Hashable, Decimal]
    lets_in: Mapping[Hashable, Decimal]
    rounds: int
    nodes: int
    stopped_by_time: bool

    def goal(self, name: str) -> Goal:
        return next(goal for goal in self.goals if goal.name == name)
