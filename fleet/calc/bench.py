"""Bench hours on offer, month by month: what outages bring, and what ordinary weeks take."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from fleet.calc.cycles import ONE_DAY
from fleet.calc.loads import first_day_of


class Opening(NamedTuple):
    """An outage's days, the last one included, and the hours it offers as far as said."""

    starts_on: date
    ends_on: date
    bench_hours: Decimal | None
    weekly_hours: Decimal | None

    @property
    def days(self) -> int:
        return (self.ends_on - self.starts_on).days + 1

    @property
    def a_day(self) -> Fraction | None:
        """Its hours spread over its days; the smaller, where a total and a week are given."""
        said = []
        if self.bench_hours is not None:
            said.append(Fraction(self.bench_hours) / self.days)
        if self.weekly_hours is not None:
            said.append(Fraction(self.weekly_hours) / 7)
        return min(said, default=None)

    def days_in(self, first: date, end: date) -> int:
        """How many of its days lie in [first, end)."""
        return max((min(self.ends_on + ONE_DAY, end) - max(self.starts_on, first)).days, 0)


class Offered(NamedTuple):
    """Hours on offer in a month, None where nobody has said any; and the days nobody spoke of."""

    hours: Fraction | None
    unsaid_days: int


def offered(
    months: Iterable[int], openings: Sequence[Opening], weekly: Decimal | None, from_on: date
) -> list[Offered]:
    """What each month offers, from a day on. Days of an outage offer its hours, others a seventh
    of an ordinary week's."""
    return [
        _in_month(max(first_day_of(month), from_on), first_day_of(month + 1), openings, weekly)
        for month in months
    ]


def _in_month(
    first: date, end: date, openings: Sequence[Opening], weekly: Decimal | None
) -> Offered:
    here = [opening for opening in openings if opening.days_in(first, end)]
    number = (end - first).days
    days = (date.fromordinal(first.toordinal() + n) for n in range(number)) if here else ()
    taken = {day for day in days if any(o.starts_on <= day <= o.ends_on for o in here)}
    ordinary = number - len(taken)
    parts = [o.a_day * o.days_in(first, end) for o in here if o.a_day is not None]
    if weekly is not None:
        parts.append(Fraction(weekly) / 7 * ordinary)
    unsaid = sum(o.days_in(first, end) for o in here if o.a_day is None)
    return Offered(
        sum(parts, Fraction()) if parts else None, unsaid + (ordinary if weekly is None else 0)
    )
