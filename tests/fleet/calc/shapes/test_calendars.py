"""Calendar months and years, against the dates that the law's own words give."""

from calendar import monthrange
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import CALENDAR, GAP, Calendar, Due, shape_from
from tests.fleet.calc.shapes.given import DAYS, GAPS, HISTORIES, day, days, plus

YEARLY = shape_from("calendar", {"times": 1, "unit": "year", "n": 1, "gap": "P15M"})
THIRD_YEAR = shape_from("calendar", {"times": 1, "unit": "year", "n": 3, "gap": "P39M"})
TWICE = shape_from("calendar", {"times": 2, "unit": "year", "gap": "P7M15D"})
MONTHLY = shape_from("calendar", {"times": 1, "unit": "month", "n": 1, "gap": "P6W"})


def unit_of(day: date, unit: str) -> tuple[int, ...]:
    return (day.year,) if unit == "year" else (day.year, day.month)


@pytest.mark.parametrize(
    ("shape", "history", "due_on", "limit"),
    [
        # 49 CFR 192.739(a): at intervals not exceeding 15 months, at least once each calendar year
        (YEARLY, ["2023-03-10"], "2024-06-10", GAP),
        (YEARLY, ["2024-09-30"], "2025-12-30", GAP),  # the last such day
        (YEARLY, ["2024-10-01"], "2025-12-31", CALENDAR),  # the first such day
        (YEARLY, ["2024-12-31"], "2025-12-31", CALENDAR),
        (YEARLY, ["2019-01-01", "2023-03-10"], "2024-06-10", GAP),
        # 49 CFR 192.740(b): at least once every 3 calendar years, not exceeding 39 months
        (THIRD_YEAR, ["2021-06-30"], "2024-09-30", GAP),
        (THIRD_YEAR, ["2022-11-15"], "2025-12-31", CALENDAR),
        # 49 CFR 195.428(a), highly volatile liquids: twice each calendar year, 7 1/2 months apart
        (TWICE, ["2024-03-01"], "2024-10-16", GAP),
        (TWICE, ["2024-06-01"], "2024-12-31", CALENDAR),  # one so far in 2024
        (TWICE, ["2024-03-01", "2024-06-01"], "2025-01-16", GAP),
        (TWICE, ["2023-11-01", "2024-06-01"], "2024-12-31", CALENDAR),
        (TWICE, ["2024-11-01", "2024-12-01"], "2025-07-16", GAP),
        # 30 CFR 250.804(a)(3), 2015 ed.: once each calendar month, never more than 6 weeks apart
        (MONTHLY, ["2024-01-31"], "2024-02-29", CALENDAR),
        (MONTHLY, ["2024-01-01"], "2024-02-12", GAP),
        (MONTHLY, ["2023-12-31"], "2024-01-31", CALENDAR),
    ],
)
def test_the_law_gives_this_date(shape, history, due_on, limit):
    assert shape.due(days(*history)) == Due(day(due_on), None, limit)


@given(last=DAYS, gap=GAPS, n=st.integers(1, 5), unit=st.sampled_from(["month", "year"]))
def test_a_calendar_is_never_later_than_either_limit_and_one_of_them_binds(last, gap, n, unit):
    due = Calendar(1, unit, n, gap).due([last])
    by_gap = plus(last, gap)
    months = last.year * 12 + last.month - 1 + n
    year, month = (last.year + n, 12) if unit == "year" else (months // 12, months % 12 + 1)
    by_calendar = date(year, month, monthrange(year, month)[1])
    assert due.due_on == min(by_gap, by_calendar) >= last
    assert due.limit == (GAP if by_gap <= by_calendar else CALENDAR)


@given(history=HISTORIES, times=st.integers(2, 4), unit=st.sampled_from(["month", "year"]))
def test_a_unit_that_lacks_its_number_is_due_by_its_own_end(history, times, unit):
    own = [day for day in history if unit_of(day, unit) == unit_of(history[-1], unit)]
    due_on = Calendar(times, unit, 1, parse_duration("P100Y")).due(history).due_on
    assert unit_of(due_on, unit) != unit_of(due_on + timedelta(1), unit)  # a unit's last day
    in_own_unit = unit_of(due_on, unit) == unit_of(history[-1], unit)
    assert in_own_unit == (len(own) < times)


def test_a_decision_replaces_the_interval_and_leaves_the_calendar():
    shape = YEARLY.with_interval(parse_duration("P6M"))
    assert shape.due(days("2024-03-10")).due_on == day("2024-09-10")
    longer = shape.with_interval(parse_duration("P5Y"))
    assert longer.due(days("2024-03-10")) == Due(day("2025-12-31"), None, CALENDAR)


@pytest.mark.parametrize(
    ("shape", "last", "words"),
    [
        (YEARLY, "2024-09-30", "15 months after 2024-09-30 (49 CFR 192.739(a))"),
        (
            YEARLY,
            "2024-10-01",
            "the end of calendar year 2025, once each calendar year, no more than 15 months apart,"
            " counted from 2024-10-01 (49 CFR 192.739(a))",
        ),
        (
            MONTHLY,
            "2024-01-31",
            "the end of calendar month 2024-02, once each calendar month, no more than 6 weeks"
            " apart, counted from 2024-01-31 (49 CFR 192.739(a))",
        ),
    ],
)
def test_the_reason_names_rule_day_and_binding_limit(shape, last, words):
    assert shape.reason(shape.due(days(last)), day(last), "49 CFR 192.739(a)") == words


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (THIRD_YEAR, "once in every 3 calendar years, no more than 39 months apart"),
        (TWICE, "2 times each calendar year, no more than 7 months 15 days apart"),
    ],
)
def test_the_rule_in_words(shape, words):
    assert shape.words() == words
