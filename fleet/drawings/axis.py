"""The one time axis that a whole column of drawings shares."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from fleet.drawings.scene import Line, Mark, Rule, Scene, Text

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
YEAR_STEPS = ((7, 1), (14, 2), (28, 4), (70, 10))  # up to so many years on the axis: label each n
HEAD_HEIGHT = 36


def day_words(day: date) -> str:
    """`14 Oct 2026`."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


@dataclass(frozen=True)
class TimeAxis:
    """Days from `start` to `end` on 0..100 percent of a drawing's width."""

    start: date
    end: date

    def __post_init__(self) -> None:
        if self.start >= self.end:
            raise ValueError(f"an axis must end after it starts: {self.start}..{self.end}")

    @classmethod
    def around(cls, today: date, *, days_back: int = 640, days_ahead: int = 1500) -> "TimeAxis":
        """The due list's window: somewhat back, further ahead, whatever the rows hold."""
        return cls(today - timedelta(days=days_back), today + timedelta(days=days_ahead))

    @classmethod
    def spanning(
        cls, days: Iterable[date], *, before: float = 0.04, after: float = 0.09
    ) -> "TimeAxis":
        """All these days, with room at both ends (shares of the span) for marks and figures."""
        ordered = sorted(days)
        if not ordered:
            raise ValueError("an axis needs at least one day")
        span = max((ordered[-1] - ordered[0]).days, 365)
        return cls(
            ordered[0] - timedelta(days=max(int(span * before), 15)),
            ordered[-1] + timedelta(days=max(int(span * after), 30)),
        )

    @cached_property
    def _percent_a_day(self) -> float:
        return 100 / (self.end - self.start).days

    def x(self, day: date) -> float:
        """Percent across; outside 0..100 for a day outside the axis."""
        return (day - self.start).days * self._percent_a_day

    def holds(self, day: date) -> bool:
        return self.start <= day <= self.end

    def clamp(self, day: date) -> date:
        return min(max(day, self.start), self.end)

    @cached_property
    def years(self) -> tuple[int, ...]:
        """The years whose first of January is drawn, spaced so that their labels never touch."""
        first = self.start.year + (self.start > date(self.start.year, 1, 1))
        years = range(first, self.end.year + 1)
        step = next((step for most, step in YEAR_STEPS if len(years) <= most), 25)
        return tuple(year for year in years if year % step == 0)

    @cached_property
    def year_rules(self) -> tuple[Rule, ...]:
        return tuple(Rule(self.x(date(year, 1, 1)), "year") for year in self.years)


def axis_head(axis: TimeAxis, today: date | None = None) -> Scene:
    """The strip in the column's head: years at their ticks, and where today stands."""
    height = HEAD_HEIGHT
    marks: list[Mark] = []
    for year in axis.years:
        x = axis.x(date(year, 1, 1))
        marks.append(Line(x, height - 8, x, height, "tick"))
        if x < 94:
            marks.append(Text(x, height - 10, str(year), dx=4))
    if today and axis.holds(today):
        x = axis.x(today)
        marks.append(Line(x, 14, x, height, "today"))
        marks.append(Text(x, 10, "today", "today", "middle" if 5 < x < 95 else "end"))
    label = f"time axis, {day_words(axis.start)} to {day_words(axis.end)}"
    return Scene(label, height, tuple(marks), "head")
