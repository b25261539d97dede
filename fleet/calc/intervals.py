"""The interval rules: how law and codes say when an activity is due again.

A shape is one frozen dataclass, stored as kind and parameters. `due_on` is the last day on which
doing it still complies. Adding a shape is one class here, its line in SHAPES, and its tests.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, ClassVar

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, count, interval, only

GAP, CALENDAR, DECISION, ACT_BY = "gap", "calendar", "decision", "act_by"
MONTH, YEAR = "month", "year"


@dataclass(frozen=True)
class Due:
    """When it is due, the target before it where the rule has one, and which limit binds."""

    due_on: date
    target_on: date | None
    limit: str


class Shape(ABC):
    """One way in which a rule turns history into a date."""

    kind: ClassVar[str]

    @classmethod
    @abstractmethod
    def from_parameters(cls, parameters: Mapping[str, Any]) -> "Shape":
        """Read stored parameters. Raises RuleError for anything missing, unknown or wrong."""

    @abstractmethod
    def parameters(self) -> dict[str, Any]:
        """What `from_parameters` reads back into this shape."""

    @abstractmethod
    def due(self, history: Sequence[date]) -> Due | None:
        """When it is due after these days, ascending and at least one; the last one counts.

        None when the rule gives no date without a decision.
        """

    @abstractmethod
    def with_interval(self, interval: Duration) -> "Shape":
        """The rule with its interval replaced by a decision; its other limits stay."""

    @abstractmethod
    def words(self) -> str:
        """The rule in words."""

    def reason(self, due: Due, last: date, source: str) -> str:
        """Why it is due then. `source` says whose rule or decision it is.

        Ask the shape that gave the date: under a decision, the one with its interval.
        """
        because = (
            f"act by {due.due_on}, because the interval decided on was already past,"
            f" counted from {last}"
            if due.limit == ACT_BY
            else self._because(due, last)
        )
        return f"{because} ({source})" if source else because

    def _because(self, due: Due, last: date) -> str:
        return f"{self.words()}, counted from {last}"


@dataclass(frozen=True)
class MaxGap(Shape):
    """No more than `gap` apart: due = last + gap."""

    kind = "max_gap"
    gap: Duration

    @classmethod
    def from_parameters(cls, parameters: Mapping[str, Any]) -> "MaxGap":
        only(parameters, cls.kind, "gap")
        return cls(interval(parameters, "gap"))

    def parameters(self) -> dict[str, Any]:
        return {"gap": self.gap.text}

    def due(self, history: Sequence[date]) -> Due:
        return Due(self.gap.after(history[-1]), None, GAP)

    def with_interval(self, interval: Duration) -> "MaxGap":
        return replace(self, gap=interval)

    def words(self) -> str:
        return f"no more than {self.gap.words} apart"

    def _because(self, due: Due, last: date) -> str:
        return f"{self.gap.words} after {last}"


@dataclass(frozen=True)
class Calendar(Shape):
    """`times` in each calendar month or year (once in `n` of them), no more than `gap` apart.

    Once: the earlier of last + gap and the end of the n-th unit after last's. More often: the end
    of last's own unit while that holds fewer than `times`, else of the next.
    """

    kind = "calendar"
    times: int
    unit: str
    n: int
    gap: Duration

    @classmethod
    def from_parameters(cls, parameters: Mapping[str, Any]) -> "Calendar":
        times = count(parameters, "times")
        only(parameters, cls.kind, "times", "unit", "gap", *(["n"] if times == 1 else []))
        unit = parameters.get("unit", "")
        if unit not in (MONTH, YEAR):
            raise RuleError("unit", unit, "month or year")
        n = count(parameters, "n") if times == 1 else 1
        return cls(times, unit, n, interval(parameters, "gap"))

    def parameters(self) -> dict[str, Any]:
        n = {"n": self.n} if self.times == 1 else {}
        return {"times": self.times, "unit": self.unit, **n, "gap": self.gap.text}

    def due(self, history: Sequence[date]) -> Due:
        by_gap, by_calendar = self.gap.after(history[-1]), self._unit_end(history)
        return Due(min(by_gap, by_calendar), None, GAP if by_gap <= by_calendar else CALENDAR)

    def _unit_end(self, history: Sequence[date]) -> date:
        last = history[-1]
        start = last.replace(day=1) if self.unit == MONTH else date(last.year, 1, 1)
        done = sum(day >= start for day in history[-self.times :])
        units = self.n if done >= self.times else 0
        months = (units + 1) * (1 if self.unit == MONTH else 12)
        return Duration(months, 0, "").after(start) - timedelta(days=1)

    def with_interval(self, interval: Duration) -> "Calendar":
        return replace(self, gap=interval)

    def words(self) -> str:
        often = "once" if self.times == 1 else f"{self.times} times"
        every = (
            f"in every {self.n} calendar {self.unit}s"
            if self.n > 1
            else f"each calendar {self.unit}"
        )
        return f"{often} {every}, no more than {self.gap.words} apart"

    def _because(self, due: Due, last: date) -> str:
        if due.limit != CALENDAR:
            return f"{self.gap.words} after {last}"
        named = str(due.due_on.year) if self.unit == YEAR else f"{due.due_on:%Y-%m}"
        return f"the end of calendar {self.unit} {named}, {self.words()}, counted from {last}"


@dataclass(frozen=True)
class ByHistory(Shape):
    """Due only from an interval decision: the interval follows performance in the service."""

    kind = "by_history"

    @classmethod
    def from_parameters(cls, parameters: Mapping[str, Any]) -> "ByHistory":
        only(parameters, cls.kind)
        return cls()

    def parameters(self) -> dict[str, Any]:
        return {}

    def due(self, history: Sequence[date]) -> None:
        return None

    def with_interval(self, interval: Duration) -> MaxGap:
        return MaxGap(interval)

    def words(self) -> str:
        return "at the interval decided on from its history"


SHAPES: dict[str, type[Shape]] = {shape.kind: shape for shape in (MaxGap, Calendar, ByHistory)}


def shape_from(kind: str, parameters: Mapping[str, Any]) -> Shape:
    """The shape stored as kind and parameters. Raises RuleError."""
    if kind not in SHAPES:
        raise RuleError("kind", kind, f"one of {', '.join(SHAPES)}")
    return SHAPES[kind].from_parameters(parameters)
