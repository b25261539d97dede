"""Intervals from the last time, against the dates that the law's own words give."""

from calendar import monthrange
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import CAP, GAP, WINDOW, Capped, Due, MaxGap, Rolling, shape_from
from tests.fleet.calc.shapes.given import DAYS, GAPS, HISTORIES, day, days, plus

# 46 CFR table 61.05-10 note 2: two within any five-year period, no more than three years apart
WATERTUBE = shape_from("rolling", {"count": 2, "window": "P5Y", "gap": "P3Y"})
# 30 CFR 250.804(a)(4), 2015 ed.: every 3 months, never more than 120 days between tests
QUARTER = shape_from("capped", {"target": "P3M", "cap": "P120D"})


@pytest.mark.parametrize(
    ("gap", "last", "due_on"),
    [
        ("P2Y", "2024-02-29", "2026-02-28"),  # 46 CFR 38.25-10(a): at least once in every 2 years
        ("P5Y", "2024-02-29", "2029-02-28"),  # 46 CFR 38.25-10(b): at least once every 5 years
        # 30 CFR 250.880: annually, not to exceed 12 calendar months between tests
        ("P12M", "2024-02-29", "2025-02-28"),
        # common practice: months clamp to the month's end, and count from the anchor itself
        ("P18M", "2024-08-31", "2026-02-28"),
        ("P48M", "2024-02-29", "2028-02-29"),
        ("P7M15D", "2024-07-31", "2025-03-15"),
        ("P6W", "2024-01-31", "2024-03-13"),
    ],
)
def test_a_gap_counts_from_the_last_time_and_clamps_to_the_month_end(gap, last, due_on):
    assert MaxGap(parse_duration(gap)).due(days(last)) == Due(day(due_on), None, GAP)


def test_a_gap_agrees_with_dateutil_on_every_month_end_of_four_centuries():
    shape = MaxGap(parse_duration("P15M"))
    for month in range(4800):
        year, number = 1890 + month // 12, month % 12 + 1
        last = date(year, number, monthrange(year, number)[1])
        assert shape.due([last]).due_on == last + relativedelta(months=15)


@pytest.mark.parametrize(
    ("history", "due_on", "limit", "counted_from"),
    [
        # 46 CFR table 61.05-10 note 2
        (["2020-01-01", "2022-11-01"], "2025-01-01", WINDOW, "2020-01-01"),
        (["2020-01-01"], "2023-01-01", GAP, None),  # one so far: three years
        (["2020-01-01", "2021-12-31"], "2024-12-31", GAP, None),  # the last such day
        (["2020-01-01", "2022-01-01"], "2025-01-01", GAP, None),  # both limits, the same day
        (["2020-01-01", "2022-01-02"], "2025-01-01", WINDOW, "2020-01-01"),  # the first such day
        (["2012-06-01", "2020-01-01", "2022-11-01"], "2025-01-01", WINDOW, "2020-01-01"),
        (["2020-02-29", "2022-12-01"], "2025-02-28", WINDOW, "2020-02-29"),
    ],
)
def test_two_in_any_five_years(history, due_on, limit, counted_from):
    counted = None if counted_from is None else day(counted_from)
    assert WATERTUBE.due(days(*history)) == Due(day(due_on), None, limit, counted)


def test_after_a_lapse_one_test_alone_does_not_make_two_in_five_years():
    """46 CFR table 61.05-10 note 2: the five years to that test hold one, so another is owed."""
    assert WATERTUBE.due(days("2010-01-01", "2020-01-01")).due_on == day("2015-01-01")
    again = days("2010-01-01", "2020-01-01", "2020-01-02")
    assert WATERTUBE.due(again) == Due(day("2023-01-02"), None, GAP)


@given(history=HISTORIES, count=st.integers(2, 4), window=GAPS, gap=GAPS)
def test_so_many_in_any_window_never_passes_either_limit(history, count, window, gap):
    due = Rolling(count, window, gap).due(history)
    limits = [plus(history[-1], gap)]
    limits += [plus(history[-count], window)] if len(history) >= count else []
    assert due.due_on == min(limits)
    if due.limit == WINDOW:
        assert due.counted_from == history[-count] and due.due_on < limits[0]
    else:
        assert (due.limit, due.counted_from, due.due_on) == (GAP, None, limits[0])


@given(start=DAYS, steps=st.lists(st.integers(1, 1095), min_size=1, max_size=6))
def test_done_by_its_due_date_any_five_years_hold_two(start, steps):
    """The rule's own words, counted: each five years from a day on which it was done hold two."""
    history = [start]
    for step in steps:
        history.append(min(history[-1] + timedelta(step), WATERTUBE.due(history).due_on))
    for first, second, third in zip(history, history[1:], history[2:], strict=False):
        assert third <= first + relativedelta(years=5) and second <= first + relativedelta(years=3)


@pytest.mark.parametrize(
    ("last", "target_on", "due_on"),
    [
        ("2024-01-15", "2024-04-15", "2024-05-14"),  # 30 CFR 250.804(a)(4), 2015 ed.
        ("2023-11-30", "2024-02-29", "2024-03-29"),
        ("2022-11-30", "2023-02-28", "2023-03-30"),
    ],
)
def test_a_target_stands_before_its_cap(last, target_on, due_on):
    assert QUARTER.due(days(last)) == Due(day(due_on), day(target_on), CAP)


@given(last=DAYS, target=GAPS, cap=GAPS)
def test_a_target_never_stands_after_the_cap(last, target, cap):
    due = Capped(target, cap).due([last])
    assert due.due_on == plus(last, cap)
    assert due.target_on == min(plus(last, target), due.due_on)


def test_a_decision_moves_the_target_and_leaves_the_cap():
    sooner = QUARTER.with_interval(parse_duration("P1M")).due(days("2024-01-15"))
    later = QUARTER.with_interval(parse_duration("P5Y")).due(days("2024-01-15"))
    assert sooner == Due(day("2024-05-14"), day("2024-02-15"), CAP)
    assert later == Due(day("2024-05-14"), day("2024-05-14"), CAP)


def test_a_decision_moves_the_gap_and_leaves_the_window():
    done = days("2020-01-01", "2022-11-01")
    assert WATERTUBE.with_interval(parse_duration("P1Y")).due(done).due_on == day("2023-11-01")
    longer = WATERTUBE.with_interval(parse_duration("P9Y")).due(done)
    assert (longer.due_on, longer.limit) == (day("2025-01-01"), WINDOW)


@pytest.mark.parametrize(
    ("shape", "history", "words"),
    [
        (
            WATERTUBE,
            ["2020-01-01", "2022-11-01"],
            "5 years after 2020-01-01, the 2nd last of two in any 5 years (the code)",
        ),
        (WATERTUBE, ["2020-01-01"], "3 years after 2020-01-01 (the code)"),
        (QUARTER, ["2024-01-15"], "120 days after 2024-01-15, aimed at 2024-04-15 (the code)"),
        (MaxGap(parse_duration("P5Y")), ["2020-05-01"], "5 years after 2020-05-01 (the code)"),
        (
            shape_from("rolling", {"count": 11, "window": "P9Y", "gap": "P8Y"}),
            [f"2020-01-{number:02}" for number in range(1, 12)],
            "8 years after 2020-01-11 (the code)",
        ),
        (
            shape_from("rolling", {"count": 11, "window": "P1Y", "gap": "P1Y"}),
            [f"2020-01-{number:02}" for number in range(1, 12)],
            "1 year after 2020-01-01, the 11th last of 11 in any year (the code)",
        ),
    ],
)
def test_the_reason_names_the_day_and_the_binding_limit(shape, history, words):
    due, history = shape.due(days(*history)), days(*history)
    assert shape.reason(due, due.counted_from or history[-1], "the code") == words


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (WATERTUBE, "two in any 5 years, no more than 3 years apart"),
        (QUARTER, "every 3 months, no more than 120 days apart"),
        (Capped(parse_duration("P1M"), parse_duration("P6W")), "every month, no more than 6 weeks"),
    ],
)
def test_the_rule_in_words(shape, words):
    assert shape.words().startswith(words)
