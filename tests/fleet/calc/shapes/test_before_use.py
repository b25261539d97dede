"""Before each season of use, against the rule's words and against walking through the days."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import SEASON, BeforeUse, Due, Known, RuleError, shape_from
from tests.fleet.calc.shapes.given import day, days, minus

# NBIC NB-23 Part 4, heating boilers: before the heating season (from memory)
HEATING = shape_from("before_use", {"lead": "P0D", "window": "P6M"})
# 33 CFR 156.170(f): in the year before the first transfer, and 30 days ahead of it
TRANSFER = shape_from("before_use", {"lead": "P30D", "window": "P1Y"})
AUTUMN = Known(season="10-01")


@pytest.mark.parametrize(
    ("shape", "last", "due_on"),
    [
        (HEATING, "2024-05-10", "2025-09-30"),  # served 2024; the next season
        (HEATING, "2024-03-15", "2024-09-30"),  # too early for 2024
        (HEATING, "2024-03-31", "2024-09-30"),  # the last day too early
        (HEATING, "2024-04-01", "2025-09-30"),  # the first day that serves
        (HEATING, "2024-09-30", "2025-09-30"),  # the last day that serves
        (HEATING, "2024-10-01", "2025-09-30"),  # in the season, too late for it
        # 33 CFR 156.170(f), worked by hand from its words: 1 October less 30 days is 1 September
        (TRANSFER, "2023-09-30", "2024-08-31"),
        (TRANSFER, "2023-10-01", "2025-08-31"),
        (TRANSFER, "2024-08-31", "2025-08-31"),
        (TRANSFER, "2024-09-01", "2025-08-31"),  # late for 2024, too early for 2025
    ],
)
def test_the_season_it_is_due_for(shape, last, due_on):
    assert shape.due(days(last), AUTUMN) == Due(day(due_on), None, SEASON)


LEADS = st.sampled_from(["P0D", "P1D", "P30D", "P1M", "P6W", "P2M15D"]).map(parse_duration)
WINDOWS = st.sampled_from(["P3M", "P180D", "P6M", "P1Y", "P15M", "P2Y"]).map(parse_duration)
SEASONS = st.dates(date(2023, 1, 1), date(2023, 12, 31)).map(lambda first: f"{first:%m-%d}")
DONE = st.lists(
    st.dates(date(2016, 1, 1), date(2026, 12, 31)), min_size=1, max_size=6, unique=True
).map(sorted)


def due_by_walking(history, lead, window, season):
    """The first day from the last time on whose morrow it would be too late for some season that
    nothing on record serves."""
    month, first = (int(part) for part in season.split("-"))
    too_late = {}
    for year in range(history[0].year - 1, history[-1].year + 6):
        start = date(year, month, first)
        too_late[minus(start, lead)] = minus(start, window)
    walking = history[-1]
    while True:
        tomorrow = walking + timedelta(1)
        if tomorrow in too_late:
            opened = too_late[tomorrow]
            if not any(opened <= done < tomorrow for done in history):
                return walking
        walking = tomorrow


@given(history=DONE, lead=LEADS, window=WINDOWS, season=SEASONS)
def test_it_is_the_first_day_that_walking_through_the_days_finds(history, lead, window, season):
    due = BeforeUse(lead, window).due(history, Known(season=season))
    assert due == Due(due_by_walking(history, lead, window, season), None, SEASON)


@given(last=st.dates(date(1890, 1, 1), date(2290, 12, 31)), season=SEASONS)
def test_what_is_done_on_the_due_date_serves_that_season(last, season):
    known = Known(season=season)
    due_on = HEATING.due([last], known).due_on
    served = due_on + timedelta(1)
    next_due_on = HEATING.due([last, due_on], known).due_on
    assert next_due_on + timedelta(1) == served.replace(year=served.year + 1)


@pytest.mark.parametrize("season", ["02-29", "13-01", "2-1", "10/01", "00-10", "04-31", "٠١-٠١"])
def test_a_season_that_is_no_day_of_every_year_is_refused(season):
    with pytest.raises(RuleError) as caught:
        HEATING.due(days("2024-01-01"), Known(season=season))
    assert (caught.value.field, caught.value.typed) == ("season", season)
    assert "every year has" in caught.value.expected


def test_without_a_season_there_is_no_date():
    assert HEATING.due(days("2024-01-01")) is None
    assert HEATING.undated() == "the first day of its season of use is not given"


def test_the_reason_names_the_season_s_first_day():
    assert HEATING.reason(HEATING.due(days("2024-03-15"), AUTUMN), day("2024-03-15"), "NBIC") == (
        "before the season that starts 2024-10-01; 2024-03-15 is too early for that season (NBIC)"
    )
    assert TRANSFER.reason(TRANSFER.due(days("2024-09-01"), AUTUMN), day("2024-09-01"), "") == (
        "before the season that starts 2025-10-01, 30 days ahead of it;"
        " 2024-09-01 is too early for that season"
    )


@pytest.mark.parametrize(
    ("season", "last", "words"),
    [
        ("03-31", "2023-08-01", "the season, 1 month ahead of it"),  # as for 30 and 29 March 2024
        ("03-29", "2023-08-01", "the season, 1 month ahead of it"),
        ("03-28", "2023-08-01", "the season that starts 2024-03-28, 1 month ahead of it"),
        ("03-28", "2024-08-01", "the season, 1 month ahead of it"),  # no leap day in 2025
        ("04-30", "2023-10-01", "the season that starts 2024-04-30, 1 month ahead of it"),
        ("07-31", "2024-01-01", "the season, 1 month ahead of it"),  # as for 30 July: 30 June
    ],
)
def test_a_season_that_months_cannot_tell_from_its_neighbour_is_not_named(season, last, words):
    shape = shape_from("before_use", {"lead": "P1M", "window": "P6M"})
    due = shape.due(days(last), Known(season=season))
    assert words in shape.reason(due, day(last), "")


@given(last=st.dates(date(1890, 1, 1), date(2290, 12, 31)), lead=LEADS, season=SEASONS)
def test_the_season_named_is_the_right_one_or_none(last, lead, season):
    """Months clamp: a month ahead of 28 to 31 March is one day, so that day names no season."""
    shape = BeforeUse(lead, parse_duration("P6M"))
    due = shape.due([last], Known(season=season))
    reason = shape.reason(due, last, "")
    month, first = (int(part) for part in season.split("-"))
    starts = [date(year, month, first) for year in range(last.year, last.year + 3)]
    [start] = [s for s in starts if minus(s, lead) - timedelta(1) == due.due_on]
    if "starts" in reason:
        assert f"starts {start}" in reason
    else:
        assert lead.months and (minus(start, lead) + timedelta(lead.days + 1)).day == 1


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (HEATING, "before each season of use, in the 6 months before its first day"),
        (
            TRANSFER,
            "before each season of use, in the year before its first day"
            " and at least 30 days ahead of it",
        ),
    ],
)
def test_the_rule_in_words(shape, words):
    assert shape.words() == words
