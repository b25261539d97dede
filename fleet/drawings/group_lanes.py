"""A sampled group along the years: a lane a member, or, of many, its tests month by month.

All drawings of one group share a `Frame`: one axis, and the window that ends on the day asked.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from fleet.calc.durations import Duration
from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.drawings.scene import Circle, Mark, Rect, Rule, Scene, Stripe, Text, triangle

MONTHS_HEIGHT, BASE, TALLEST = 132, 112, 84
A_DAY = timedelta(days=1)


class DrawnTest(NamedTuple):
    """One test on a member's lane. failed: None where what it found is not recorded.

    is_here: done on what served here; else it came with a device fitted later. is_low: opened low.
    """

    on: date
    failed: bool | None
    words: str
    is_here: bool = True
    is_low: bool = False


@dataclass(frozen=True)
class Frame:
    """window: its first and last day; words: its length."""

    axis: TimeAxis
    as_of: date
    window: tuple[date, date]
    words: str

    @classmethod
    def of(cls, as_of: date, window: Duration, gap: Duration, days: Iterable[date]) -> "Frame":
        """One gap back, no further than anything happened, and one window ahead."""
        first = window.before(as_of) + A_DAY
        begins = max(min([first, *days]), gap.before(as_of))
        ends = window.after(as_of)
        room = timedelta(days=round((ends - begins).days * 0.03))
        return cls(TimeAxis(begins - room, ends + room), as_of, (first, as_of), window.words)

    @property
    def band(self) -> OutageSpan:
        return OutageSpan(*self.window, f"the {self.words}")

    def ground(self) -> list[Mark]:
        """Years, the window and the day, behind whatever is drawn."""
        axis, (first, last) = self.axis, self.window
        left, right = axis.x(first), axis.x(last + A_DAY)
        title = f"the {self.words} from {day_words(first)} to {day_words(last)}"
        return [
            *axis.year_rules,
            Stripe(left, right - left, "window", title),
            Rule(axis.x(self.as_of), "today"),
        ]


def member_lane(
    frame: Frame,
    tests: Sequence[DrawnTest],
    last_on: date | None,
    due_on: date | None,
    deferred_until: date | None = None,
    state: str = "",
) -> Scene:
    """An interval line with every test on it, each by its shape: sound, failed, not recorded."""
    axis = frame.axis
    line = interval_line(axis, last_on, due_on, frame.as_of, [frame.band], deferred_until, state)
    marks = [mark for mark in line.marks if type(mark) is not Circle]
    marks += [_test(axis, test) for test in tests if axis.holds(test.on)]
    if last_on and axis.holds(last_on) and last_on not in {test.on for test in tests}:
        marks.append(Circle(axis.x(last_on), 0, 4.5, "missing"))  # its beginning, no test
    done = ", ".join(f"{day_words(test.on)} {test.words}" for test in tests)
    return replace(line, marks=tuple(marks), label=f"tested {done or 'never'}; {line.label}")


def _test(axis: TimeAxis, test: DrawnTest) -> Mark:
    x = axis.x(test.on)
    if test.failed:
        return triangle(x, 0, "found outside", points_down=test.is_low)
    if test.failed is None:
        return Circle(x, 0, 4.5, "left unread")
    return Circle(x, 0, 4.5, "found" if test.is_here else "left")


def group_months(frame: Frame, tests: Sequence[DrawnTest], dues: Iterable[date]) -> Scene:
    """Of a large group: how many were tested in each month, failures above; and are due."""
    axis = frame.axis
    shown = [test for test in tests if axis.holds(test.on)]
    done = Counter(_month(test.on) for test in shown)
    failed = Counter(_month(test.on) for test in shown if test.failed)
    due = Counter(_month(day) for day in dues if axis.holds(day))
    most = max([*done.values(), *due.values()], default=1)
    marks: list[Mark] = frame.ground()
    for month, number in sorted(done.items()):
        marks.append(_bar(axis, month, number, most, "tests", 0))
        if failed[month]:
            x, top = _middle(axis, month), BASE - TALLEST * number / most
            marks.append(triangle(x, top - 9, "found outside"))
            if failed[month] > 1:
                marks.append(Text(x, top - 5, str(failed[month]), "outside", "start", 10))
    for month, number in sorted(due.items()):
        is_late = month < _month(frame.as_of)
        marks.append(_bar(axis, month, number, most, "dues late" if is_late else "dues", 1))
    marks.append(Text(0, 12, f"tallest bar: {most} in a month"))
    label = (
        f"{sum(done.values())} tests, {sum(failed.values())} of them failed, by month;"
        f" {sum(due.values())} due"
    )
    return Scene(label, MONTHS_HEIGHT, tuple(marks), "months")


def _month(day: date) -> date:
    return day.replace(day=1)


def _middle(axis: TimeAxis, month: date) -> float:
    return axis.x(month + timedelta(days=14))


def _bar(axis: TimeAxis, month: date, number: int, most: int, css: str, aside: int) -> Rect:
    """A bar within its month; what is due stands beside what was done."""
    width = (axis.x(month + timedelta(days=31)) - axis.x(month)) * 0.42
    height = max(TALLEST * number / most, 2)
    return Rect(axis.x(month) + aside * width, BASE - height, width, height, css)
