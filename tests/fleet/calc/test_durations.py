"""Durations against the worked dates of the rules and against another library's calendar."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.units import Duration, UnitsError, parse_duration

# Worked from the text of the rule named beside each.
WORKED = [
    ("P15M", date(2023, 3, 10), date(2024, 6, 10)),  # 49 CFR 192.739
    ("P15M", date(2024, 9, 30), date(2025, 12, 30)),  # 49 CFR 192.739
    ("P39M", date(2021, 6, 30), date(2024, 9, 30)),  # 49 CFR 192.740(b)
    ("P5Y", date(2020, 1, 1), date(2025, 1, 1)),  # 46 CFR table 61.05-10 note 2
    ("P120D", date(2024, 1, 15), date(2024, 5, 14)),  # 30 CFR 250.804(a)(4), 2015 edition
    ("P3M", date(2024, 1, 15), date(2024, 4, 15)),  # the same
    ("P92D", date(2024, 1, 1), date(2024, 4, 2)),  # 49 CFR 230.50, as days
    ("P7M15D", date(2024, 1, 31), date(2024, 9, 15)),  # 49 CFR 195.428(a): months first
    ("P18M", date(2024, 8, 31), date(2026, 2, 28)),  # month end clamps, common practice
    ("P12M", date(2024, 2, 29), date(2025, 2, 28)),  # month end clamps, common practice
    ("P6W", date(2024, 1, 31), date(2024, 3, 13)),  # 30 CFR 250.804(a)(3), 2015 edition
    ("P0D", date(2024, 2, 29), date(2024, 2, 29)),
]


@pytest.mark.parametrize(("text", "anchor", "due"), WORKED)
def test_worked_dates(text, anchor, due):
    assert parse_duration(text).after(anchor) == due


@given(
    st.dates(date(1800, 1, 1), date(2300, 1, 1)),
    st.integers(0, 2400),
    st.integers(0, 9_999),
)
def test_agrees_with_another_librarys_calendar(day, months, days):
    expected = day + relativedelta(months=months) + timedelta(days=days)
    assert Duration(months, days, "").after(day) == expected


@pytest.mark.parametrize(
    ("text", "months", "days", "words"),
    [
        ("P5Y", 60, 0, "5 years"),
        ("P1Y", 12, 0, "1 year"),
        ("P15M", 15, 0, "15 months"),
        ("P1Y3M", 15, 0, "1 year 3 months"),
        ("P6W", 0, 42, "6 weeks"),
        ("P92D", 0, 92, "92 days"),
        ("P7M15D", 7, 15, "7 months 15 days"),
        ("P0D", 0, 0, "0 days"),
        (" P5Y ", 60, 0, "5 years"),
    ],
)
def test_reads_iso_durations(text, months, days, words):
    duration = parse_duration(text)
    assert (duration.months, duration.days) == (months, days)
    assert (str(duration), duration.words) == (text.strip(), words)


def test_equal_is_what_counts_not_how_it_was_typed():
    assert parse_duration("P12M") == parse_duration("P1Y")
    assert hash(parse_duration("P12M")) == hash(parse_duration("P1Y"))
    assert parse_duration("P30D") != parse_duration("P1M")


@pytest.mark.parametrize(
    "text",
    [
        "", "P", "5Y", "P5", "p5y", "P-5Y", "-P5Y", "P5.5Y", "P5Y ago", "PT5H", "P1DT1H", "P1D1Y",
        "P1M1Y", "5 years", "P201Y", "P2401M", "P99999D", "P99999999999Y", "P٣Y", "P1Y\nP1Y",
        "P" + "9" * 10_000_000 + "Y", "P1Y2W", "P1M1W", "P1W1D", "P0Y1W", "P1W1Y", "PW",
    ],
    ids=lambda text: text[:12],
)  # fmt: skip
def test_refuses_the_rest_and_says_what_it_wants(text):
    with pytest.raises(UnitsError, match="ISO 8601 duration such as P5Y") as refused:
        parse_duration(text)
    assert len(refused.value.typed) <= 41


@pytest.mark.parametrize("text", ["P1Y2W", "P2W3D"])
def test_weeks_stand_alone_and_that_is_said(text):
    """ISO 8601-1:2019 5.5.2.2 to 5.5.2.4: PnW, or years, months and days (from memory)."""
    with pytest.raises(UnitsError, match="weeks stand alone"):
        parse_duration(text)
    assert parse_duration("P2W") == parse_duration("P14D")


@pytest.mark.parametrize(
    ("text", "anchor", "before"),
    [  # by the calendar: months clamp to the month's end, then days
        ("P30D", date(2024, 10, 1), date(2024, 9, 1)),
        ("P6M", date(2024, 10, 1), date(2024, 4, 1)),
        ("P1M", date(2024, 3, 31), date(2024, 2, 29)),
        ("P1M", date(2023, 3, 31), date(2023, 2, 28)),
        ("P1Y", date(2024, 2, 29), date(2023, 2, 28)),
        ("P2M15D", date(2024, 1, 31), date(2023, 11, 15)),
        ("P0D", date(2024, 2, 29), date(2024, 2, 29)),
        ("P6W", date(2024, 3, 13), date(2024, 1, 31)),
    ],
)
def test_counting_back(text, anchor, before):
    assert parse_duration(text).before(anchor) == before


def test_every_day_of_four_centuries_agrees_with_another_librarys_calendar():
    """Each leap day and month end there is: a month and a year, ahead and back."""
    first, month, year = date(1890, 1, 1), Duration(1, 0, "P1M"), Duration(12, 0, "P1Y")
    other_month, other_year = relativedelta(months=1), relativedelta(years=1)
    for number in range(146_097):
        day = first + timedelta(number)
        assert month.after(day) == day + other_month
        assert month.before(day) == day - other_month
        assert year.after(day) == day + other_year
        assert year.before(day) == day - other_year


@given(
    st.dates(date(1800, 1, 1), date(2300, 1, 1)),
    st.integers(0, 2400),
    st.integers(0, 9_999),
)
def test_counting_back_agrees_with_another_librarys_calendar(day, months, days):
    expected = day - relativedelta(months=months) - timedelta(days=days)
    assert Duration(months, days, "").before(day) == expected


@pytest.mark.parametrize(
    ("one", "other", "exceeds"),
    [  # by the calendar: a month has 28 to 31 days, three of them 89 to 92, a year 365 or 366
        ("P1M", "P28D", True),
        ("P1M", "P31D", False),
        ("P28D", "P1M", False),
        ("P29D", "P1M", True),
        ("P30D", "P1M", True),
        ("P1M", "P30D", True),  # each is the longer from some day
        ("P1Y", "P365D", True),
        ("P1Y", "P366D", False),
        ("P366D", "P1Y", True),
        ("P365D", "P1Y", False),
        ("P12M", "P1Y", False),
        ("P13M", "P1Y", True),
        ("P1Y", "P13M", False),
        ("P7M15D", "P7M14D", True),
        ("P7M14D", "P7M15D", False),
        ("P3M", "P91D", True),
        ("P3M", "P92D", False),
        ("P120D", "P4M", False),
        ("P121D", "P4M", True),
        ("P6W", "P42D", False),
        ("P0D", "P0D", False),
    ],
)
def test_longer_from_some_day(one, other, exceeds):
    assert parse_duration(one).exceeds(parse_duration(other)) == exceeds


LENGTHS = st.builds(Duration, st.integers(0, 60), st.integers(0, 400), st.just(""))


@given(one=LENGTHS, other=LENGTHS)
def test_longer_from_some_day_is_asked_of_every_day_of_four_years(one, other):
    def length(duration, day):
        return day + relativedelta(months=duration.months) + timedelta(duration.days)

    four_years = (date(2021, 1, 1) + timedelta(number) for number in range(1461))
    expected = any(length(one, day) > length(other, day) for day in four_years)
    assert one.exceeds(other) == expected


def test_before_the_first_day_of_the_calendar_is_an_error_of_ours():
    with pytest.raises(UnitsError, match="calendar"):
        parse_duration("P200Y").before(date(100, 1, 1))
    with pytest.raises(UnitsError, match="calendar"):
        parse_duration("P9D").before(date(1, 1, 9))


def test_past_the_end_of_the_calendar_is_an_error_of_ours():
    with pytest.raises(UnitsError, match="calendar"):
        parse_duration("P200Y").after(date(9900, 1, 1))
    with pytest.raises(UnitsError, match="calendar"):
        parse_duration("P9D").after(date(9999, 12, 31))
