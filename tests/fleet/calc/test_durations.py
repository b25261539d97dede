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
        "P" + "9" * 10_000_000 + "Y",
    ],
    ids=lambda text: text[:12],
)  # fmt: skip
def test_refuses_the_rest_and_says_what_it_wants(text):
    with pytest.raises(UnitsError, match="ISO 8601 duration such as P5Y") as refused:
        parse_duration(text)
    assert len(refused.value.typed) <= 41


def test_past_the_end_of_the_calendar_is_an_error_of_ours():
    with pytest.raises(UnitsError, match="calendar"):
        parse_duration("P200Y").after(date(9900, 1, 1))
    with pytest.raises(UnitsError, match="calendar"):
        parse_duration("P9D").after(date(9999, 12, 31))
