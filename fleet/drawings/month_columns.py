"""Hours a month as columns along the years, the hours on offer as a line across them.

At the bench: full columns. On stream: hollow ones on top of them. A month beyond what is on offer
has a triangle above it; one with jobs of unknown hours a hollow square at its foot. Whoever cannot
see them reads the same in the label of the month's link.
"""

from calendar import monthrange
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from fleet.drawings.axis import MONTHS, day_words
from fleet.drawings.scene import Glyph, Line, Link, Mark, Rect, Rule, Scene, Stripe, Text

HEAD, MARGIN, FOOT = 26, 16, 5  # pixels: the axis; above the tallest column; under the base line
GAP = 0.16  # of a month's width, left free between two columns
SMALL = ((0.0, -5.5), (4.5, 3.5), (-4.5, 3.5))
SQUARE = ((-3.0, -3.0), (3.0, -3.0), (3.0, 3.0), (-3.0, 3.0))


class Down(NamedTuple):
    """An outage: its days, the last one included, and its name."""

    starts_on: date
    ends_on: date
    name: str


@dataclass(frozen=True)
class Column:
    """One month. offered: None where nobody has said; label: everything, in words; href: "" = no
    link, for a month without work."""

    bench: float
    on_stream: float = 0
    offered: float | None = None
    is_over: bool = False
    has_unknown: bool = False
    label: str = ""
    href: str = ""

    @property
    def tallest(self) -> float:
        return max(self.bench + self.on_stream, self.offered or 0)


def month_columns(
    label: str,
    first: date,
    columns: Sequence[Column],
    *,
    height: int,
    top: float,
    down: Iterable[Down] = (),
) -> Scene:
    """One row of months from `first`, the first day of one; `top`: hours of the tallest column."""
    base = height - FOOT
    scale = (base - MARGIN) / top if top else 0
    wide = 100 / len(columns)
    marks: list[Mark] = [Rule(x * wide, "year") for x in _januaries(first, len(columns))]
    marks += [stripe for outage in down if (stripe := _stripe(outage, first, len(columns)))]
    if step := round_step(top):
        y = base - step * scale
        marks += [Line(0, y, 100, y, "scale"), Text(0, y - 3, f"{step:g} h", dx=3)]
    marks.append(Line(0, base, 100, base, "base"))
    for number, column in enumerate(columns):
        marks += _month(column, number * wide, wide, base, scale)
    return Scene(label, height, tuple(marks), "months")


def _month(column: Column, x: float, wide: float, base: float, scale: float) -> list[Mark]:
    left, width = x + wide * GAP / 2, wide * (1 - GAP)
    bench, light = column.bench * scale, column.on_stream * scale
    tone = "column over-offer" if column.is_over else "column"
    marks: list[Mark] = []
    if bench:
        marks.append(Rect(left, base - bench, width, bench, tone))
    if light:
        marks.append(Rect(left, base - bench - light, width, light, "light"))
    if column.is_over:
        marks.append(Glyph(x + wide / 2, base - bench - light - 7, (SMALL,), "beyond-offer"))
    if column.has_unknown:
        marks.append(Glyph(x + wide / 2, base - 5, (SQUARE,), "unknown"))
    if column.href:
        hit = Rect(x, 0, wide, base + FOOT, "hit")
        marks = [Link(column.href, column.label, (*marks, hit))]
    if column.offered is not None:
        y = base - column.offered * scale
        marks.append(Line(x, y, x + wide, y, "offer"))
    return marks


def _stripe(outage: Down, first: date, count: int) -> Stripe | None:
    """The days of an outage behind the months, as far as they are drawn."""
    left = max(_across(outage.starts_on, first, count), 0)
    right = min(_across(outage.ends_on + timedelta(days=1), first, count), 100)
    said = f"{outage.name}, {day_words(outage.starts_on)} to {day_words(outage.ends_on)}"
    return Stripe(left, right - left, "plan", said) if left < right else None


def _across(day: date, first: date, count: int) -> float:
    """Percent across: every month is as wide as the next, whatever its days."""
    months = (day.year - first.year) * 12 + day.month - first.month
    return (months + (day.day - 1) / monthrange(day.year, day.month)[1]) * 100 / count


def _januaries(first: date, count: int) -> list[int]:
    """How many months after the first each year begins."""
    return [number for number in range(count) if (first.month - 1 + number) % 12 == 0]


def months_head(first: date, count: int) -> Scene:
    """The head of the column of drawings: each year where it begins."""
    wide = 100 / count
    marks: list[Mark] = []
    januaries = _januaries(first, count)
    if 0 not in januaries and (not januaries or januaries[0] > 4):
        marks.append(Text(0, HEAD - 9, f"{MONTHS[first.month - 1]} {first.year}", dx=3))
    for number in januaries:
        x, year = number * wide, first.year + (first.month - 1 + number) // 12
        marks.append(Line(x, HEAD - 8, x, HEAD, "tick"))
        if number < count - 3:
            marks.append(Text(x, HEAD - 9, str(year), dx=4))
    return Scene(f"{count} months from {MONTHS[first.month - 1]} {first.year}", HEAD, tuple(marks))


def round_step(top: float) -> float:
    """The largest of 1, 2 or 5 times a power of ten that is no more than the tallest column."""
    if top <= 0:
        return 0
    power = 1e-3
    while power * 10 <= top:
        power *= 10
    return max(times * power for times in (1, 2, 5) if times * power <= top)
