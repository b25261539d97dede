"""One axis for head and rows. Geometry is checked against day counts from the proleptic calendar
(datetime's own ordinal), not against the axis's own arithmetic."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.drawings.axis import TimeAxis, axis_head, day_words
from fleet.drawings.interval_line import interval_line
from tests.fleet.drawings.reading import by_class, parsed, percent

DAYS = st.dates(date(1980, 1, 1), date(2060, 12, 31))


def test_a_day_stands_at_its_share_of_the_span():
    axis = TimeAxis(date(2025, 1, 1), date(2029, 1, 1))  # 1461 days: one leap day
    assert axis.x(date(2025, 1, 1)) == 0
    assert axis.x(date(2029, 1, 1)) == pytest.approx(100)
    assert axis.x(date(2027, 1, 1)) == pytest.approx(730 / 1461 * 100)


@given(DAYS, st.integers(400, 20_000))
def test_every_year_stands_in_the_rows_exactly_where_its_head_says(start, span):
    axis = TimeAxis(start, start + timedelta(days=span))
    head = parsed(axis_head(axis))
    row = parsed(interval_line(axis, None, None, start))
    ticks = [percent(node, "x1") for node in by_class(head, "tick")]
    rules = [percent(node, "x1") for node in by_class(row, "year")]
    assert ticks == rules
    assert len(ticks) == len(axis.years) <= 7


@given(DAYS, st.integers(0, 640), st.integers(0, 1500))
def test_a_day_stands_at_one_place_in_head_and_rows(today, back, ahead):
    axis = TimeAxis.around(today)
    (head,) = [n for n in by_class(parsed(axis_head(axis, today)), "today") if n.tag == "line"]
    row = parsed(
        interval_line(axis, today - timedelta(days=back), today + timedelta(days=ahead), today)
    )
    (rule,) = by_class(row, "today")
    assert percent(head, "x1") == percent(head, "x2") == percent(rule, "x1") == percent(rule, "x2")


@given(st.lists(DAYS, min_size=1, max_size=20))
def test_an_axis_spanning_days_holds_them_all_with_room_at_both_ends(days):
    axis = TimeAxis.spanning(days)
    assert all(1 < axis.x(day) < 97 for day in days)


def test_an_axis_needs_days_and_a_length():
    with pytest.raises(ValueError, match="at least one day"):
        TimeAxis.spanning([])
    with pytest.raises(ValueError, match="end after it starts"):
        TimeAxis(date(2026, 1, 1), date(2026, 1, 1))


def test_days_read_as_people_write_them():
    assert day_words(date(2026, 10, 4)) == "4 Oct 2026"
