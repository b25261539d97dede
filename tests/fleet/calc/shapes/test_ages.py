"""Intervals that shorten with age, against the dates that the law's own words give."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import AGE, GAP, Due, Known, RuleError, shape_from
from tests.fleet.calc.shapes.given import DAYS, day, days, plus

# 49 CFR 180.605(c), specification 60 tanks: four years, then every two until twelve years of age,
# then every year
SPEC_60 = shape_from("age_steps", {"steps": [["P0D", "P4Y"], ["P12Y", "P2Y"], [None, "P1Y"]]})
ENTERED = Known(in_service_on=day("2010-01-01"))


def test_each_done_on_time_the_years_run_by_twos_then_by_ones():
    """49 CFR 180.605(c): in service 2010-01-01, each done on the day it is due."""
    done, limits = [], set()
    for _ in range(8):
        due = SPEC_60.due(done, ENTERED)
        done.append(due.due_on)
        limits.add(due.limit)
    years = ["2014", "2016", "2018", "2020", "2022", "2023", "2024", "2025"]
    assert done == days(*(f"{year}-01-01" for year in years))
    assert limits == {AGE}


def test_the_first_counts_from_the_day_it_entered_service():
    assert SPEC_60.due([], ENTERED) == Due(
        day("2014-01-01"), None, AGE, counted_from=day("2010-01-01")
    )


@pytest.mark.parametrize(
    ("last", "due_on"),
    [  # worked by hand from 49 CFR 180.605(c): the age is that reached at the last time
        ("2012-05-05", "2014-05-05"),  # early: the four years are for the first time alone
        ("2021-12-31", "2023-12-31"),  # the last day under twelve
        ("2022-01-01", "2023-01-01"),  # twelve
        ("2010-01-01", "2014-01-01"),  # the original test, on the first day of service
        ("2010-01-02", "2012-01-02"),
        ("2009-12-01", "2013-12-01"),  # before it entered service: the first step
    ],
)
def test_the_age_at_the_last_time_tells_the_interval(last, due_on):
    assert SPEC_60.due(days(last), ENTERED) == Due(day(due_on), None, AGE)


def test_an_age_of_leap_day_is_reached_at_the_month_end():
    entered = Known(in_service_on=day("2012-02-29"))
    assert SPEC_60.due(days("2024-02-28"), entered).due_on == day("2026-02-28")
    assert SPEC_60.due(days("2024-02-29"), entered).due_on == day("2025-02-28")
    assert SPEC_60.due([], entered).due_on == day("2016-02-29")


@given(entered=DAYS, after=st.integers(0, 6000), later=st.integers(0, 3000))
def test_a_later_last_time_is_never_due_earlier_at_the_same_age(entered, after, later):
    known = Known(in_service_on=entered)
    first, second = entered + timedelta(after), entered + timedelta(after + later)
    old = plus(entered, parse_duration("P12Y"))
    due, moved = SPEC_60.due([first], known).due_on, SPEC_60.due([second], known).due_on
    gap = "P4Y" if first == entered else "P2Y" if first < old else "P1Y"
    assert due == plus(first, parse_duration(gap))
    if (first == entered, first >= old) == (second == entered, second >= old):
        assert moved >= due


def test_without_the_day_it_entered_service_there_is_no_date():
    assert SPEC_60.due([]) is None and SPEC_60.due(days("2014-01-01")) is None
    assert SPEC_60.undated() == "the day it entered service is not given"


@pytest.mark.parametrize(
    ("interval", "last", "due"),
    [
        ("P1Y", "2016-01-01", Due(day("2017-01-01"), None, GAP)),  # sooner than its age says
        ("P5Y", "2016-01-01", Due(day("2018-01-01"), None, AGE)),  # never later
        ("P2Y", "2016-01-01", Due(day("2018-01-01"), None, GAP)),
        ("P18M", "2023-01-01", Due(day("2024-01-01"), None, AGE)),
    ],
)
def test_a_decision_only_ever_shortens_a_step(interval, last, due):
    assert SPEC_60.with_interval(parse_duration(interval)).due(days(last), ENTERED) == due


def test_a_decision_may_shorten_the_first_time_too():
    due = SPEC_60.with_interval(parse_duration("P3Y")).due([], ENTERED)
    assert due == Due(day("2013-01-01"), None, GAP, counted_from=day("2010-01-01"))


def test_no_decision_is_longer_than_the_longest_step():
    SPEC_60.check_interval(parse_duration("P4Y"))
    with pytest.raises(RuleError, match="no longer than the rule's own 4 years"):
        SPEC_60.check_interval(parse_duration("P49M"))


def test_the_reason_names_the_step_and_the_age():
    rule = (
        "first 4 years after it entered service, then every 2 years until 12 years in service,"
        " then every year"
    )
    assert SPEC_60.words() == rule
    last = day("2016-01-01")
    assert SPEC_60.reason(SPEC_60.due([last], ENTERED), last, "49 CFR 180.605(c)") == (
        f"2 years after 2016-01-01, by its age: {rule} (49 CFR 180.605(c))"
    )
    first = SPEC_60.due([], ENTERED)
    assert SPEC_60.reason(first, first.counted_from, "").startswith("4 years after 2010-01-01, by")
    moved = Due(day("2017-06-01"), None, AGE)  # a date that no step gives is not explained by one
    assert SPEC_60.reason(moved, last, "") == f"counted from 2016-01-01, by its age: {rule}"
    decided = SPEC_60.with_interval(parse_duration("P6M"))
    assert decided.reason(decided.due([last], ENTERED), last, "") == "6 months after 2016-01-01"


def test_without_a_first_time_of_its_own_the_first_step_is_in_words_a_gap():
    shape = shape_from("age_steps", {"steps": [["P10Y", "P5Y"], [None, "P30M"]]})
    assert shape.words() == (
        "no more than 5 years apart until 10 years in service, then every 30 months"
    )
    assert shape_from("age_steps", {"steps": [[None, "P1Y"]]}).words() == (
        "no more than 1 year apart"
    )
