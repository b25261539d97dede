"""Bench hours on offer by month: by hand, and nothing lost or invented."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.bench import Opening, offered
from fleet.calc.loads import month_of

MAY = month_of(date(2027, 5, 1))
LONG_AGO = date(2020, 1, 1)


def opening(starts_on, ends_on, total=None, weekly=None):
    days = (date.fromisoformat(starts_on), date.fromisoformat(ends_on))
    hours = [None if n is None else Decimal(n) for n in (total, weekly)]
    return Opening(*days, *hours)


def in_may(*openings, weekly=None, from_on=LONG_AGO):
    return offered([MAY], openings, weekly, from_on)[0]


def test_nobody_has_said_anything():
    assert in_may() == (None, 31)
    assert in_may(opening("2027-05-03", "2027-05-09")) == (None, 31)


def test_an_outage_offers_its_hours_over_its_days():
    """By hand: 100 h over 20 days, ten of them in May; the rest of May nobody spoke of."""
    assert in_may(opening("2027-05-22", "2027-06-10", 100)) == (Fraction(50), 21)


def test_the_week_limits_the_total():
    """By hand: two weeks at 30 h are less than 100 h; at 60 h they are more."""
    assert in_may(opening("2027-05-03", "2027-05-16", 100, 30)).hours == 60
    assert in_may(opening("2027-05-03", "2027-05-16", 100, 60)).hours == 100


def test_ordinary_days_offer_a_seventh_of_a_week():
    """By hand: May has 31 days, two weeks of them in the outage; 17 days at 10 h."""
    found = in_may(opening("2027-05-03", "2027-05-16", 100), weekly=Decimal(70))
    assert found == (Fraction(100 + 170), 0)


def test_an_outage_without_hours_leaves_its_days_unsaid():
    assert in_may(opening("2027-05-03", "2027-05-16"), weekly=Decimal(70)) == (Fraction(170), 14)


def test_zero_hours_are_said():
    assert in_may(opening("2027-05-01", "2027-05-31", 0)) == (Fraction(0), 0)


def test_a_month_that_has_begun_offers_what_is_left_of_it():
    assert in_may(weekly=Decimal(70), from_on=date(2027, 5, 25)) == (Fraction(70), 0)


@given(
    st.dates(date(2027, 1, 5), date(2028, 6, 1)),
    st.integers(0, 90),
    st.decimals(0, 900, places=2),
)
def test_the_months_hold_all_the_hours_of_an_outage(starts_on, length, hours):
    row = Opening(starts_on, starts_on + timedelta(length), hours, None)
    months = range(month_of(date(2027, 1, 1)), month_of(date(2029, 1, 1)))
    found = offered(months, [row], None, LONG_AGO)
    assert sum(part.hours for part in found if part.hours is not None) == Fraction(hours)
    assert sum(part.unsaid_days for part in found) == 731 - row.days
