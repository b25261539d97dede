"""The interval shapes against the dates that the law's own words give. Source beside each row."""

from calendar import monthrange
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import (
    SHAPES,
    ByHistory,
    Calendar,
    Due,
    MaxGap,
    RuleError,
    shape_from,
)
from fleet.calc.library import rules

DAYS = st.dates(date(1890, 1, 1), date(2290, 12, 31))  # four hundred years of leap days
GAPS = st.sampled_from(["P6W", "P92D", "P1M", "P7M15D", "P12M", "P15M", "P39M", "P5Y"])


def unit_of(day: date, unit: str) -> tuple[int, ...]:
    return (day.year,) if unit == "year" else (day.year, day.month)


def days(*texts: str) -> list[date]:
    return [date.fromisoformat(text) for text in texts]


@pytest.mark.parametrize(
    ("rule", "history", "due_on", "limit"),
    [
        # 49 CFR 192.739(a): at intervals not exceeding 15 months, at least once each calendar year
        ("us-49cfr192.739", ["2023-03-10"], "2024-06-10", "gap"),
        ("us-49cfr192.739", ["2024-09-30"], "2025-12-30", "gap"),  # the last such day
        ("us-49cfr192.739", ["2024-10-01"], "2025-12-31", "calendar"),  # the first such day
        ("us-49cfr192.739", ["2024-12-31"], "2025-12-31", "calendar"),
        ("us-49cfr192.739", ["2019-01-01", "2023-03-10"], "2024-06-10", "gap"),
        # 49 CFR 192.740(b): at least once every 3 calendar years, not exceeding 39 months
        ("us-49cfr192.740", ["2021-06-30"], "2024-09-30", "gap"),
        ("us-49cfr192.740", ["2022-11-15"], "2025-12-31", "calendar"),
        # 49 CFR 195.428(a), highly volatile liquids: twice each calendar year, 7 1/2 months apart
        ("us-49cfr195.428-hvl", ["2024-03-01"], "2024-10-16", "gap"),
        ("us-49cfr195.428-hvl", ["2024-06-01"], "2024-12-31", "calendar"),  # one so far in 2024
        ("us-49cfr195.428-hvl", ["2024-03-01", "2024-06-01"], "2025-01-16", "gap"),
        ("us-49cfr195.428-hvl", ["2023-11-01", "2024-06-01"], "2024-12-31", "calendar"),
        ("us-49cfr195.428-hvl", ["2024-11-01", "2024-12-01"], "2025-07-16", "gap"),
        # 30 CFR 250.804(a)(3), 2015 ed.: once each calendar month, never more than 6 weeks apart
        ("us-30cfr250-month", ["2024-01-31"], "2024-02-29", "calendar"),
        ("us-30cfr250-month", ["2024-01-01"], "2024-02-12", "gap"),
        ("us-30cfr250-month", ["2023-12-31"], "2024-01-31", "calendar"),
        # 46 CFR 38.25-10(a), (b): at least once in every 2 years; at least once every 5 years
        ("us-46cfr38-inspect", ["2024-02-29"], "2026-02-28", "gap"),
        ("us-46cfr38-lift", ["2024-02-29"], "2029-02-28", "gap"),
        # 30 CFR 250.880: annually, not to exceed 12 calendar months between tests
        ("us-30cfr250-psv", ["2024-02-29"], "2025-02-28", "gap"),
    ],
)
def test_the_law_gives_this_date(rule, history, due_on, limit):
    due = rules()[rule].shape.due(days(*history))
    assert due == Due(date.fromisoformat(due_on), None, limit)


@pytest.mark.parametrize(
    ("gap", "last", "due_on"),
    [  # common practice: months clamp to the month's end, and count from the anchor itself
        ("P18M", "2024-08-31", "2026-02-28"),
        ("P12M", "2024-02-29", "2025-02-28"),
        ("P48M", "2024-02-29", "2028-02-29"),
        ("P7M15D", "2024-07-31", "2025-03-15"),
        ("P6W", "2024-01-31", "2024-03-13"),
    ],
)
def test_a_gap_clamps_to_the_month_end(gap, last, due_on):
    assert MaxGap(parse_duration(gap)).due(days(last)).due_on == date.fromisoformat(due_on)


def test_a_gap_agrees_with_dateutil_on_every_month_end_of_four_centuries():
    shape = MaxGap(parse_duration("P15M"))
    for month in range(4800):
        year, number = 1890 + month // 12, month % 12 + 1
        last = date(year, number, monthrange(year, number)[1])
        assert shape.due([last]).due_on == last + relativedelta(months=15)


@given(last=DAYS, gap=GAPS, n=st.integers(1, 5), unit=st.sampled_from(["month", "year"]))
def test_a_calendar_is_never_later_than_either_limit_and_one_of_them_binds(last, gap, n, unit):
    due = Calendar(1, unit, n, parse_duration(gap)).due([last])
    by_gap = MaxGap(parse_duration(gap)).due([last]).due_on
    months = last.year * 12 + last.month - 1 + n
    year, month = (last.year + n, 12) if unit == "year" else (months // 12, months % 12 + 1)
    by_calendar = date(year, month, monthrange(year, month)[1])
    assert due.due_on == min(by_gap, by_calendar) >= last
    assert due.limit == ("gap" if by_gap <= by_calendar else "calendar")


@given(
    history=st.lists(DAYS, min_size=1, max_size=6, unique=True).map(sorted),
    later=st.integers(0, 800),
    gap=GAPS,
    times=st.integers(1, 3),
    unit=st.sampled_from(["month", "year"]),
)
def test_a_later_last_day_never_makes_it_due_earlier(history, later, gap, times, unit):
    moved = [*history[:-1], history[-1] + timedelta(later)]
    for shape in (
        MaxGap(parse_duration(gap)),
        Calendar(times, unit, 1, parse_duration(gap)),
    ):
        assert shape.due(moved).due_on >= shape.due(history).due_on


@given(
    history=st.lists(DAYS, min_size=1, max_size=8, unique=True).map(sorted),
    times=st.integers(2, 4),
    unit=st.sampled_from(["month", "year"]),
)
def test_a_unit_that_lacks_its_number_is_due_by_its_own_end(history, times, unit):
    own = [day for day in history if unit_of(day, unit) == unit_of(history[-1], unit)]
    due_on = Calendar(times, unit, 1, parse_duration("P100Y")).due(history).due_on
    assert unit_of(due_on, unit) != unit_of(due_on + timedelta(1), unit)  # a unit's last day
    in_own_unit = unit_of(due_on, unit) == unit_of(history[-1], unit)
    assert in_own_unit == (len(own) < times)


def test_a_decision_replaces_the_interval_and_leaves_the_calendar():
    shape = rules()["us-49cfr192.739"].shape.with_interval(parse_duration("P6M"))
    assert shape.due(days("2024-03-10")).due_on == date(2024, 9, 10)
    longer = shape.with_interval(parse_duration("P5Y"))
    assert longer.due(days("2024-03-10")) == Due(date(2025, 12, 31), None, "calendar")


def test_by_history_gives_no_date_without_a_decision():
    assert ByHistory().due(days("2024-03-10")) is None
    decided = ByHistory().with_interval(parse_duration("P2Y"))
    assert decided.due(days("2024-03-10")).due_on == date(2026, 3, 10)


@pytest.mark.parametrize(
    ("kind", "parameters"),
    [
        ("max_gap", {"gap": "P7M15D"}),
        ("calendar", {"times": 1, "unit": "year", "n": 3, "gap": "P39M"}),
        ("calendar", {"times": 2, "unit": "month", "gap": "P6W"}),
        ("by_history", {}),
    ],
)
def test_parameters_read_back_as_they_were(kind, parameters):
    shape = shape_from(kind, parameters)
    assert shape.parameters() == parameters
    assert shape_from(kind, shape.parameters()) == shape
    assert SHAPES[kind] is type(shape)


YEARLY = {"times": 1, "unit": "year", "n": 1, "gap": "P15M"}


@pytest.mark.parametrize(
    ("kind", "parameters", "field", "typed"),
    [
        ("rolling_eggs", {}, "kind", "rolling_eggs"),
        ("max_gap", {}, "gap", ""),
        ("max_gap", {"gap": "5 years"}, "gap", "5 years"),
        ("max_gap", {"gap": 5}, "gap", "5"),
        ("max_gap", {"gap": "P0D"}, "gap", "P0D"),
        ("max_gap", {"gap": "P5Y", "times": 1}, "times", "1"),
        ("calendar", {"gap": "P15M"}, "times", ""),
        ("calendar", YEARLY | {"times": 0}, "times", "0"),
        ("calendar", YEARLY | {"times": True}, "times", "True"),
        ("calendar", YEARLY | {"times": 2}, "n", "1"),
        ("calendar", YEARLY | {"unit": "week"}, "unit", "week"),
        ("calendar", {"times": 1, "unit": "year", "gap": "P15M"}, "n", ""),
        ("by_history", {"gap": "P1Y"}, "gap", "P1Y"),
    ],
)
def test_a_wrong_parameter_is_named_with_what_was_typed(kind, parameters, field, typed):
    with pytest.raises(RuleError) as caught:
        shape_from(kind, parameters)
    assert (caught.value.field, caught.value.typed) == (field, typed)
    assert caught.value.expected


@pytest.mark.parametrize(
    ("rule", "last", "words"),
    [
        ("us-49cfr192.739", "2024-09-30", "15 months after 2024-09-30 (49 CFR 192.739(a))"),
        (
            "us-49cfr192.739",
            "2024-10-01",
            "the end of calendar year 2025, once each calendar year, no more than 15 months apart,"
            " counted from 2024-10-01 (49 CFR 192.739(a))",
        ),
        ("us-46cfr38-lift", "2020-05-01", "5 years after 2020-05-01 (46 CFR 38.25-10(b))"),
    ],
)
def test_the_reason_names_rule_day_and_binding_limit(rule, last, words):
    rule, [last] = rules()[rule], days(last)
    assert rule.shape.reason(rule.shape.due([last]), last, rule.citation) == words


def test_the_reason_of_a_decision_says_what_was_decided():
    shape = ByHistory().with_interval(parse_duration("P3Y"))
    last = date(2020, 1, 1)
    decided = Due(date(2023, 1, 1), None, "decision")
    acted = Due(date(2023, 9, 30), None, "act_by")
    assert shape.reason(decided, last, "decided by A. Engineer") == (
        "3 years after 2020-01-01 (decided by A. Engineer)"
    )
    assert "act by 2023-09-30" in shape.reason(acted, last, "")
    assert "2020-01-01" in shape.reason(acted, last, "")
