"""Rules whose interval shortens with age, counted from the position's in-service date."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, interval, only
from fleet.calc.shapes.base import AGE, GAP, NOTHING, NOTHING_LONG, Due, Known, Shape
from fleet.calc.shapes.wording import span

Step = tuple[Duration | None, Duration]  # the age up to which it serves (None: for ever), its gap
_EXPECTED = (
    "a list of [until age, gap] such as [P12Y, P2Y], the ages ascending and only the last one null"
)


@dataclass(frozen=True)
class AgeSteps(Shape):
    """No more than the gap of its age apart: the first from the in-service date, then last + gap.

    The age is that reached at the last time. A first step that serves until P0D is for the first
    time alone. `decided`: an interval that a decision has set, never later than the step's own.
    """

    kind = "age_steps"
    needs_history = False
    decides = ""
    may_lengthen = False
    steps: tuple[Step, ...]
    decided: Duration | None = None

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "steps")
        return cls(_steps(parameters))

    def _own(self) -> dict[str, Any]:
        return {"steps": [[until and until.text, gap.text] for until, gap in self.steps]}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due | None:
        """None while the in-service date is not known."""
        entered = known.in_service_on
        if entered is None:
            return None
        if history:
            last, gap, counted_from = history[-1], self._gap_at(history[-1], entered), None
        else:
            last, gap, counted_from = entered, self.steps[0][1], entered
        by_age = gap.after(last)
        if self.decided is not None and self.decided.after(last) <= by_age:
            return Due(self.decided.after(last), None, GAP, counted_from)
        return Due(by_age, None, AGE, counted_from)

    def _gap_at(self, last: date, entered: date) -> Duration:
        """A test on the day it entered service is the original one: the first step serves it."""
        tomorrow = entered + timedelta(days=1)
        return next(
            gap
            for until, gap in self.steps
            if until is None or last < max(until.after(entered), tomorrow)
        )

    def undated(self) -> str:
        return "the day it entered service is not given"

    @property
    def interval(self) -> Duration:
        """The longest of its gaps: a decision longer than that can mean nothing."""
        longest = self.steps[0][1]
        for _, gap in self.steps[1:]:
            longest = gap if gap.exceeds(longest) else longest
        return longest

    def with_interval(self, interval: Duration) -> "AgeSteps":
        return replace(self, decided=interval)

    def words(self) -> str:
        return ", then ".join(
            _step_words(until, gap, is_first=not number)
            for number, (until, gap) in enumerate(self.steps)
        )

    def _because(self, due: Due, last: date) -> str:
        if due.limit == GAP and self.decided is not None:
            return f"{self.decided.words} after {last}"
        gap = next((gap for _, gap in self.steps if gap.after(last) == due.due_on), None)
        by_age = f"{gap.words} after {last}" if gap else f"counted from {last}"
        return f"{by_age}, by its age: {self.words()}"


def _step_words(until: Duration | None, gap: Duration, *, is_first: bool) -> str:
    if until == NOTHING_LONG:
        return f"first {gap.words} after it entered service"
    apart = f"no more than {gap.words} apart" if is_first else f"every {span(gap)}"
    return f"{apart} until {until.words} in service" if until else apart


def _steps(parameters: Mapping[str, Any]) -> tuple[Step, ...]:
    typed = parameters.get("steps", "")
    if not isinstance(typed, list | tuple) or not typed:
        raise RuleError("steps", typed, _EXPECTED)
    steps = tuple(_step(row, is_first=not number) for number, row in enumerate(typed))
    for (until, _), (following, _), row in zip(steps, steps[1:], typed[1:], strict=False):
        if until is None or (following is not None and not _is_later(following, until)):
            raise RuleError("steps", row, _EXPECTED)
    if steps[-1][0] is not None:
        raise RuleError("steps", typed[-1], _EXPECTED)
    return steps


def _step(row: Any, *, is_first: bool) -> Step:
    if not isinstance(row, list | tuple) or len(row) != 2:
        raise RuleError("steps", row, _EXPECTED)
    read = {"until": row[0], "gap": row[1]}
    try:
        until = None if row[0] is None else interval(read, "until", may_be_nothing=is_first)
        return until, interval(read, "gap")
    except RuleError as error:
        raise RuleError("steps", error.typed, f"{error.expected}, as its {error.field}") from error


def _is_later(age: Duration, other: Duration) -> bool:
    return age.exceeds(other) and not other.exceeds(age)
