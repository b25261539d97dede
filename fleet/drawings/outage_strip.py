"""A unit's outages along the years, each a link to its page."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.scene import Link, Mark, Rect, Rule, Scene, Text

HEIGHT = 48
TOP, THICK, BASELINE = 9, 14, 40
ONE_DAY = timedelta(days=1)
THINNEST = 0.6  # percent: a short outage must still be seen and touched


class OutageBar(NamedTuple):
    """An outage on the strip; `css` is its state's tone."""

    starts_on: date
    ends_on: date
    name: str
    href: str
    css: str = ""


def outage_strip(axis: TimeAxis, today: date, unit: str, bars: Iterable[OutageBar]) -> Scene:
    """One row of the strip; bars wholly off the axis are left out."""
    marks: list[Mark] = list(axis.year_rules)
    if axis.holds(today):
        marks.append(Rule(axis.x(today), "today"))
    shown = [bar for bar in bars if bar.ends_on >= axis.start and bar.starts_on <= axis.end]
    marks += [_bar(axis, bar) for bar in shown]
    names = ", ".join(f"{bar.name} {day_words(bar.starts_on)}" for bar in shown)
    return Scene(f"outages of {unit}: {names or 'none'}", HEIGHT, tuple(marks), "strip")


def _bar(axis: TimeAxis, bar: OutageBar) -> Link:
    left, right = axis.x(axis.clamp(bar.starts_on)), axis.x(axis.clamp(bar.ends_on + ONE_DAY))
    width = max(right - left, THINNEST)
    at_end = left > 80
    label = f"{bar.name}, {day_words(bar.starts_on)} to {day_words(bar.ends_on)}"
    return Link(
        bar.href,
        label,
        (
            Rect(left, 0, max(width, 3), HEIGHT, "hit"),
            Rect(left, TOP, width, THICK, f"bar {bar.css}".strip()),
            Text(
                left + width if at_end else left,
                BASELINE,
                bar.name,
                "",
                "end" if at_end else "start",
            ),
        ),
    )
