"""Rules that follow the calendar: its months and years, and the seasons of use."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import choice, count, interval, only
from fleet.calc.shapes.base import CALENDAR, GAP, NOTHING, Due, Known, Shape

MONTH, YEAR = "month", "year"


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
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        times = count(parameters, "times")
        only(parameters, cls.kind, "times", "unit", "gap", *(["n"] if times == 1 else []))
        unit = choice(parameters, "unit", (MONTH, YEAR))
        n = count(parameters, "n") if times == 1 else 1
        return cls(times, unit, n, interval(parameters, "gap"))

    def _own(self) -> dict[str, Any]:
        n = {"n": self.n} if self.times == 1 else {}
        return {"times": self.times, "unit": self.unit, **n, "gap": self.gap.text}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due:
        by_gap, by_calendar = self.gap.after(history[-1]), self._unit_end(history)
        return Due(min(by_gap, by_calendar), None, GAP if by_gap <= by_calendar else CALENDAR)

    def _unit_end(self, history: Sequence[date]) -> date:
        last = history[-1]
        start = last.replace(day=1) if self.unit == MONTH else date(last.year, 1, 1)
        done = sum(day >= start for day in history[-self.times :])
        units = self.n if done >= self.times else 0
        months = (units + 1) * (1 if self.unit == MONTH else 12)
        return Duration(months, 0, "").after(start) - timedelta(days=1)

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
