"""Days along the foot of a drawing: years, months or days, by how much time it shows."""

from datetime import date, timedelta

from fleet.drawings.axis import MONTHS, TimeAxis
from fleet.drawings.scene import Line, Mark, Rule, Text

STEPS = ((110, 1), (240, 2), (480, 3), (1000, 6))  # up to so many days: months per tick
DAYS_APART = ((10, 1), (22, 3), (45, 7))  # up to so many days on the axis: a tick each n


def ruler(axis: TimeAxis, height: float) -> list[Mark]:
    """Faint rules through the drawing, and their words along its foot."""
    marks: list[Mark] = []
    for day, words in ticks(axis):
        x = axis.x(day)
        marks += [Rule(x, "year"), Line(x, height - 22, x, height - 14, "tick")]
        if x < 93:
            marks.append(Text(x, height - 2, words, dx=0 if x > 4 else 2))
    return marks


def ticks(axis: TimeAxis) -> list[tuple[date, str]]:
    """Each day that is marked, ascending, and how it is said; at most about ten."""
    length = (axis.end - axis.start).days
    apart = next((apart for most, apart in DAYS_APART if length <= most), None)
    if apart:
        days = [axis.start + timedelta(number) for number in range(0, length + 1, apart)]
        return [(day, f"{day.day} {MONTHS[day.month - 1]}") for day in days[1:]]
    months = next((months for most, months in STEPS if length <= most), None)
    if months:
        days = _months(axis, months)
        return [(day, _month_words(day, is_first=day == days[0])) for day in days]
    return [(date(year, 1, 1), str(year)) for year in axis.years]


def _months(axis: TimeAxis, apart: int) -> list[date]:
    first = axis.start.year * 12 + axis.start.month - 1
    days = [date(*_year_month(number), 1) for number in range(first, first + 42)]
    return [day for day in days if axis.holds(day) and (day.month - 1) % apart == 0]


def _year_month(number: int) -> tuple[int, int]:
    return number // 12, number % 12 + 1


def _month_words(day: date, *, is_first: bool) -> str:
    """The year is said where it begins, and at first."""
    month = MONTHS[day.month - 1]
    return f"{month} {day.year}" if day.month == 1 or is_first else month
