"""The hours of an outage's work over its weeks: what is needed against what is offered."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

ZERO = Decimal(0)


@dataclass(frozen=True)
class Week:
    """Seven days counted from the outage's first, or what is left of them, both ends included.

    `offered` None: nobody gave a limit. `needed` above `offered` only in the last week, where the
    work is more than the whole outage offers.
    """

    from_on: date
    until_on: date
    offered: Decimal | None
    needed: Decimal


def weeks(starts_on: date, ends_on: date) -> list[tuple[date, date]]:
    """First and last day of each week of an outage; a week begun counts as one.

    ValueError: it ends before it starts.
    """
    if ends_on < starts_on:
        raise ValueError(f"an outage that ends on {ends_on}, before it starts on {starts_on}")
    count = (ends_on - starts_on).days // 7 + 1
    firsts = [starts_on + timedelta(7 * number) for number in range(count)]
    return [(first, min(first + timedelta(6), ends_on)) for first in firsts]


def spread(
    hours: Iterable[Decimal],
    starts_on: date,
    ends_on: date,
    weekly_hours: Decimal | None,
) -> list[Week]:
    """Work poured into the weeks from the first on; a visit may run over a week's end.

    Without a weekly limit it lies evenly over the days, since nothing says otherwise; shares are
    rounded to the cent of an hour and the last week takes what rounding leaves.
    """
    total, spans = sum(hours, ZERO), weeks(starts_on, ends_on)
    whole = (ends_on - starts_on).days + 1
    found, left = [], total
    for number, (first, last) in enumerate(spans, 1):
        if weekly_hours is not None:
            share = min(weekly_hours, left)
        else:
            share = (total * ((last - first).days + 1) / whole).quantize(Decimal("0.01"))
        share = left if number == len(spans) else share
        found.append(Week(first, last, weekly_hours, share))
        left -= share
    return found
