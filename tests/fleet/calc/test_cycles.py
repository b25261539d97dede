"""When work comes again after a day still ahead, worked by hand; sections stand beside."""

from datetime import date

import pytest

from fleet.calc.clocks import regimes
from fleet.calc.cycles import Cycle
from fleet.calc.durations import parse_duration
from fleet.calc.facts import Decision
from fleet.calc.intervals import shape_from

DECEMBER = date(2027, 12, 31)


def cycle(kind, parameters, *decisions, **known):
    made = [
        Decision(number, date.fromisoformat(on), parse_duration(interval), None)
        for number, (on, interval) in enumerate(decisions)
    ]
    return Cycle(regimes(shape_from(kind, parameters), made), **known)


def days(found, *done, times=4):
    """The next so many days, each done exactly when it is due."""
    history = [date.fromisoformat(day) for day in done]
    for _ in range(times):
        history.append(found.after(history))
    return [day.isoformat() for day in history[len(done) :]]


def once_a_year():
    """49 CFR 192.739(a): "at intervals not exceeding 15 months, but at least once each calendar
    year"."""
    return cycle("calendar", {"times": 1, "unit": "year", "n": 1, "gap": "P15M"})


def test_the_calendar_year_binds_where_work_is_late_in_it():
    """49 CFR 192.739(a), by hand: done on 31 December, 15 months reach past the year's end."""
    assert days(once_a_year(), "2027-12-31") == [f"{y}-12-31" for y in (2028, 2029, 2030, 2031)]


def test_fifteen_months_bind_where_work_is_early_in_the_year():
    """49 CFR 192.739(a), by hand: 10 May 2027 + 15 months, and so on until the year binds."""
    wanted = ["2028-08-10", "2029-11-10", "2030-12-31", "2031-12-31"]
    assert days(once_a_year(), "2027-05-10") == wanted


def test_the_29th_of_february_is_clamped_and_stays_so():
    """Months clamp to the month's last day (ISO 8601 calendar arithmetic, as `durations` says)."""
    yearly = cycle("max_gap", {"gap": "P1Y"})
    assert days(yearly, "2028-02-29") == ["2029-02-28", "2030-02-28", "2031-02-28", "2032-02-28"]
    half = cycle("max_gap", {"gap": "P6M"})
    assert days(half, "2026-08-31", times=2) == ["2027-02-28", "2027-08-28"]


def test_a_plain_gap_is_added_again_and_again():
    """By hand: 4 May 2026 + 5 years, twice."""
    assert days(cycle("max_gap", {"gap": "P5Y"}), "2026-05-04", times=2) == [
        "2031-05-04",
        "2036-05-04",
    ]


def test_a_rolling_rule_asks_for_more_than_the_last_day():
    """By hand: two in any 4 years, no more than 3 years apart."""
    rolling = cycle("rolling", {"count": 2, "window": "P4Y", "gap": "P3Y"})
    assert rolling.remembers == 2
    assert days(rolling, "2024-01-01", "2026-06-01", times=3) == [
        "2028-01-01",  # 4 years after the first of the two binds
        "2030-06-01",
        "2032-01-01",
    ]


def test_several_times_a_year_count_those_already_done_in_it():
    """By hand: twice each calendar year, no more than 8 months apart."""
    twice = cycle("calendar", {"times": 2, "unit": "year", "gap": "P8M"})
    assert twice.remembers == 2
    assert days(twice, "2026-10-01", times=3) == ["2026-12-31", "2027-08-31", "2027-12-31"]
    assert days(twice, "2026-05-01", "2026-10-01", times=2) == ["2027-06-01", "2027-12-31"]


def test_work_is_never_due_again_on_its_own_day():
    monthly = cycle("calendar", {"times": 2, "unit": "month", "gap": "P1M"})
    assert monthly.after([date(2027, 1, 31)]) == date(2027, 2, 1)


def test_seasons_and_ages_are_followed():
    """By hand: within a month before each 1 October; then 10 years old, every 2 instead of 5."""
    season = cycle("before_use", {"lead": "P0D", "window": "P1M"}, season="10-01")
    assert days(season, "2026-09-20", times=2) == ["2027-09-30", "2028-09-30"]
    ages = cycle(
        "age_steps",
        {"steps": [["P10Y", "P5Y"], [None, "P2Y"]]},
        in_service_on=date(2019, 3, 1),
    )
    assert days(ages, "2024-03-01", times=3) == ["2029-03-01", "2031-03-01", "2033-03-01"]


@pytest.mark.parametrize(
    ("kind", "parameters"),
    [
        ("by_history", {}),
        ("usage", {"counter": "starts", "count": 100}),
        ("after_event", {"kinds": ["release"], "days": 30}),
    ],
)
def test_what_cannot_be_projected_has_no_day(kind, parameters):
    assert cycle(kind, parameters).after([DECEMBER]) is None


def test_a_decision_in_force_sets_the_interval():
    decided = cycle("by_history", {}, ("2026-01-01", "P3Y"))
    assert days(decided, "2026-05-04", times=2) == ["2029-05-04", "2032-05-04"]


def test_a_decision_that_begins_before_the_day_re_dates_the_running_clock():
    """By hand: 5 years after 1 June 2026, until 3 years are decided from 2028 on."""
    decided = cycle("max_gap", {"gap": "P5Y"}, ("2028-01-01", "P3Y"))
    assert days(decided, "2026-06-01", times=2) == ["2029-06-01", "2032-06-01"]


def test_a_decision_that_begins_after_the_day_changes_only_what_follows():
    decided = cycle("max_gap", {"gap": "P2Y"}, ("2028-07-01", "P1Y"))
    assert days(decided, "2026-06-01", times=2) == ["2028-06-01", "2029-06-01"]


def test_what_a_decision_makes_overdue_at_once_is_due_the_day_it_begins():
    """By hand: 1 June 2026 + 6 months is past when the decision begins."""
    decided = cycle("max_gap", {"gap": "P5Y"}, ("2028-01-01", "P6M"))
    assert days(decided, "2026-06-01", times=2) == ["2028-01-01", "2028-07-01"]
