"""The weeks of an outage side by side: the hours its work needs in each, against those offered."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from fleet.drawings.axis import day_words
from fleet.drawings.scene import Line, Mark, Rect, Scene, triangle

HEIGHT, TOP, FOOT = 46, 12, 42
WIDEST = 16.0  # percent: a single week is a column, not a field


class Hours(NamedTuple):
    """One week: its first and last day; offered None where nobody has said."""

    from_on: date
    until_on: date
    needed: Decimal
    offered: Decimal | None


def week_bars(weeks: Sequence[Hours]) -> Scene:
    """A column a week; beyond what is offered it is marked."""
    most = max([*(week.needed for week in weeks), *(week.offered or 0 for week in weeks), 1])
    step = min(100 / len(weeks), WIDEST) if weeks else WIDEST
    marks: list[Mark] = [Line(0, FOOT, 100, FOOT, "scale")]
    for number, week in enumerate(weeks):
        marks += _column(week, number * step, step * 0.8, float(most))
    return Scene("; ".join(map(week_words, weeks)) or "no weeks", HEIGHT, tuple(marks), "weeks")


def week_words(week: Hours) -> str:
    offered = "" if week.offered is None else f" of {week.offered.normalize():f}"
    days = f"{day_words(week.from_on)} to {day_words(week.until_on)}"
    return f"{days}: {week.needed.normalize():f}{offered} h"


def _column(week: Hours, left: float, width: float, most: float) -> list[Mark]:
    room = FOOT - TOP
    is_over = week.offered is not None and week.needed > week.offered
    height = room * float(week.needed) / most
    marks: list[Mark] = []
    if week.needed:
        css = "need over" if is_over else "need"
        marks.append(Rect(left, FOOT - height, width, height, css))
    if week.offered is not None:
        top = room * float(week.offered) / most
        marks.append(Rect(left, FOOT - top, width, top, "offer"))
    if is_over:
        marks.append(triangle(left + width / 2, TOP - 5, "found outside"))
    return marks
