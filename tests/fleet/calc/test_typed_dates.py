"""Dates as typed: ISO 8601 or a named order, never a guess."""

import time
from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.typed_dates import TypedDate, parse_date
from fleet.calc.units import UnitsError

days = st.dates(date(1800, 1, 1), date(2199, 12, 31))


@pytest.mark.parametrize(
    ("text", "on", "is_partial"),
    [
        ("2025-04-03", date(2025, 4, 3), False),
        (" 2025-04-03 ", date(2025, 4, 3), False),
        ("2024-02-29", date(2024, 2, 29), False),
        ("2011-03", date(2011, 3, 1), True),
        ("2011", date(2011, 1, 1), True),
    ],
)
def test_reads_iso_dates_and_partial_ones_as_their_earliest_day(text, on, is_partial):
    typed = parse_date(text)
    assert (typed.on, typed.text, typed.is_partial) == (on, text.strip(), is_partial)
    assert str(typed) == text.strip()


def test_a_named_order_reads_day_and_month():
    assert parse_date("03/04/2025", "DMY").on == date(2025, 4, 3)
    assert parse_date("03/04/2025", "MDY").on == date(2025, 3, 4)
    assert parse_date("3.4.2025", "DMY") == TypedDate(date(2025, 4, 3), "3.4.2025")
    assert parse_date("2025-04-03", "DMY").on == date(2025, 4, 3)  # ISO is always ISO


@given(days)
def test_an_iso_date_comes_back_as_itself(day):
    assert parse_date(day.isoformat()) == TypedDate(day, day.isoformat())


@given(days, st.sampled_from([("DMY", "%d/%m/%Y"), ("MDY", "%m/%d/%Y")]))
def test_a_named_order_agrees_with_the_standard_library(day, order):
    name, form = order
    typed = f"{day:%d}/{day:%m}/{day.year:04}" if name == "DMY" else f"{day:%m/%d}/{day.year:04}"
    assert parse_date(typed, name).on == datetime.strptime(typed, form).date() == day


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("03/04/2025", None),
        ("13/04/2025", None),
        ("13/04/2025", "MDY"),
        ("04/13/2025", "DMY"),
        ("03/04/25", "DMY"),
        ("03/04.2025", "DMY"),
        ("2025/04/03", "DMY"),
        ("2025-02-29", None),
        ("2025-13", None),
        ("2025-00", None),
        ("2025-4-3", None),
        ("20250403", None),
        ("10", None),
        ("40607", None),  # a spreadsheet's day number
        ("2025-04-03T00:00", None),
        ("2025-04-03 00:00:00", None),
        ("2025-W14-4", None),
        ("3 April 2025", "DMY"),
        ("today", None),
        ("", None),
        ("n/a", None),
        ("1799-12-31", None),
        ("2200", None),
        ("0001-01-01", None),
        ("٢٠٢٥-04-03", None),
        ("2025-04-03\n2025", None),
        ("-2025", None),
    ],
)
def test_refuses_the_rest_and_says_what_it_wants(text, order):
    with pytest.raises(UnitsError) as refused:
        parse_date(text, order)
    assert refused.value.typed == text.replace("\n", " ")
    assert "a date such as 2025-04-03" in refused.value.expected or "year" in refused.value.expected


@given(st.text(max_size=20) | st.text("0123456789-/. ", max_size=12))
def test_hostile_text_is_refused_or_means_what_it_says(text):
    try:
        typed = parse_date(text)
    except UnitsError:
        return
    assert typed.on.isoformat().startswith(typed.text)
    assert typed.is_partial == (len(typed.text) < 10)


@pytest.mark.parametrize("pattern", ["2", "-", " ", "2025-", "3/"])
def test_ten_megabytes_are_refused_at_once(pattern):
    started = time.perf_counter()
    with pytest.raises(UnitsError):
        parse_date(pattern * (10_000_000 // len(pattern)), "DMY")
    assert time.perf_counter() - started < 1


def test_an_unknown_order_is_the_callers_mistake():
    with pytest.raises(ValueError, match="date_order"):
        parse_date("03/04/2025", "YMD")
