"""Rules that follow the calendar: its months and years, and the seasons of use."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, choice, count, interval, only
from fleet.calc.shapes.base import CALENDAR, GAP, NOTHING, NOTHING_LONG, SEASON, Due, Known, Shape
from fleet.calc.shapes.wording import span

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


@dataclass(frozen=True)
class BeforeUse(Shape):
    """Before each season of use: in the `window` before its first day, and `lead` ahead of it.

    What was done before the window does not count for that season, so the season it is due for
    is the first one whose window begins after the last time. due_on = the day before (its first
    day - lead).
    """

    kind = "before_use"
    decides = ""
    may_lengthen = False
    lead: Duration
    window: Duration

    @classmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        only(parameters, cls.kind, "lead", "window")
        lead = interval(parameters, "lead", may_be_nothing=True)
        window = interval(parameters, "window")
        if not window.exceeds(lead) or lead.exceeds(window):
            raise RuleError("window", window.text, f"longer than the lead {lead.text}")
        return cls(lead, window)

    def _own(self) -> dict[str, Any]:
        return {"lead": self.lead.text, "window": self.window.text}

    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due | None:
        """None without a season. Raises RuleError for a season that is no day of every year."""
        if not known.season:
            return None
        month, day = season_day(known.season)
        year = history[-1].year
        while self.window.before(date(year, month, day)) <= history[-1]:
            year += 1
        return Due(self._last_day_for(date(year, month, day)), None, SEASON)

    def _last_day_for(self, season: date) -> date:
        return self.lead.before(season) - timedelta(days=1)

    def undated(self) -> str:
        return "the first day of its season of use is not given"

    def words(self) -> str:
        ahead = f" and at least {self.lead.words} ahead of it" if self._has_lead else ""
        return f"before each season of use, in the {span(self.window)} before its first day{ahead}"

    def _because(self, due: Due, last: date) -> str:
        ahead = f", {self.lead.words} ahead of it" if self._has_lead else ""
        return f"before the season{self._named(due)}{ahead}; {last} is too early for that season"

    def _named(self, due: Due) -> str:
        """The season's first day, where one alone gives that due date: months clamp."""
        near = Duration(self.lead.months, 0, "").after(due.due_on + timedelta(self.lead.days + 1))
        days = (near + timedelta(days=number) for number in range(4))
        seasons = [day for day in days if self._last_day_for(day) == due.due_on]
        return f" that starts {seasons[0]}" if len(seasons) == 1 else ""

    @property
    def _has_lead(self) -> bool:
        return self.lead != NOTHING_LONG


def season_day(typed: str) -> tuple[int, int]:
    """Month and day of a season's first day, MM-DD. Raises RuleError, for 02-29 too."""
    expected = "a month and a day that every year has, such as 10-01"
    match = re.fullmatch(r"([0-9]{2})-([0-9]{2})", typed)
    if match is None:
        raise RuleError("season", typed, expected)
    try:
        first = date(2023, int(match[1]), int(match[2]))  # a year without a leap day
    except ValueError as error:
        raise RuleError("season", typed, expected) from error
    return first.month, first.day
