"""What stands beside a plan: hours week by week, prices, long plans."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from fleet.calc.outages import (
    Line,
    Problem,
    Room,
    Slot,
    Visit,
    choices,
    in_time,
    propose,
    spread,
    weeks,
)

FROM = date(2026, 1, 1)


def day(number):
    return FROM + timedelta(number)


def a_visit(name, due, hours, *slots):
    return Visit(name, (Line(f"{name}/1", day(due)),), Decimal(hours), slots)


SLOTS = (
    Slot("early", day(10), Decimal(10)),
    Slot("middle", day(40), Decimal(4)),
    Slot("late", day(70), Decimal(4)),
)
NAMES = ("early", "middle", "late")
PLAN = Problem(FROM, SLOTS, (a_visit("A", 75, "3", *NAMES), a_visit("B", 80, "2", *NAMES)))


def test_choices_are_those_that_serve_every_line():
    both = Visit("C", (Line(1, day(45)), Line(2, day(20), until=day(40))), Decimal(1), NAMES)
    assert choices(Problem(FROM, SLOTS, (both,))) == {"C": ("early", "middle")}
    assert in_time(both.lines[1], SLOTS[0]) and not in_time(both.lines[1], SLOTS[1])


def test_one_more_hour_is_priced_where_hours_bind():
    """Two hours wait 30 days earlier for want of one: the relaxed plan moves a visit by the hour,
    at 30 days for 2 or 3 hours, whichever visit is split."""
    prices = propose(PLAN).prices
    assert prices["late"] == Decimal("10.00") and prices["middle"] == prices["early"] == 0


def test_hours_are_poured_into_weeks_up_to_their_limit():
    hours = [Decimal("30"), Decimal("15.5")]
    found = spread(hours, day(0), day(15), Decimal(20))
    assert [(week.from_on, week.until_on) for week in found] == [
        (day(0), day(6)),
        (day(7), day(13)),
        (day(14), day(15)),
    ]
    assert [week.needed for week in found] == [Decimal(20), Decimal(20), Decimal("5.5")]
    assert all(week.offered == 20 for week in found)


def test_what_is_too_much_stands_in_the_last_week():
    found = spread([Decimal(50)], day(0), day(13), Decimal(20))
    assert [week.needed for week in found] == [20, 30]


def test_without_a_limit_hours_lie_evenly_and_none_is_lost():
    found = spread([Decimal(10)], day(0), day(8), None)
    assert [week.needed for week in found] == [Decimal("7.78"), Decimal("2.22")]
    assert [week.offered for week in found] == [None, None]


def test_an_outage_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="before it starts"):
        weeks(day(3), day(2))


def test_a_long_plan_of_weeks_on_stream_is_quickly_proved():
    """Pairs that relieve one vessel, one of each out at a time, over five years of weeks."""
    weeks_ = tuple(Slot(n, day(7 * n), None, is_online=True) for n in range(260))
    names = tuple(slot.id for slot in weeks_)
    visits, rooms = [], []
    for pair in range(40):
        due = 100 + 40 * pair
        visits += [a_visit((pair, side), due, "4", *names) for side in (0, 1)]
        amounts = {(pair, 0): Fraction(1), (pair, 1): Fraction(1)}
        rooms += [Room(slot.id, amounts, Fraction(1)) for slot in weeks_]
    proposal = propose(Problem(FROM, weeks_, tuple(visits), tuple(rooms)))
    assert proposal.status == "optimal"
    for pair in range(40):
        due = 100 + 40 * pair
        assert sorted(proposal.placed[(pair, side)] for side in (0, 1)) == [
            due // 7 - 1,
            due // 7,
        ]
