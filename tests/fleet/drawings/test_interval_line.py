"""The interval line says late work, unknown dates and dates beyond the axis without guessing."""

from datetime import date
from timeit import timeit

import pytest

from fleet.drawings.axis import TimeAxis
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.drawings.svg import render
from tests.fleet.drawings.reading import by_class, parsed, percent

TODAY = date(2026, 10, 31)
AXIS = TimeAxis(date(2025, 1, 1), date(2030, 1, 1))


def line(last_on, due_on, **rest):
    return parsed(interval_line(AXIS, last_on, due_on, TODAY, **rest))


def test_compliant_work_shows_no_late_stretch():
    root = line(date(2025, 7, 14), date(2028, 7, 14), state="compliant")
    assert not by_class(root, "over") and not by_class(root, "late")
    (wait,) = by_class(root, "wait")
    assert percent(wait, "x1") == pytest.approx(194 / 1826 * 100, abs=0.01)
    assert percent(wait, "x2") == pytest.approx(1290 / 1826 * 100, abs=0.01)


def test_a_due_date_is_the_last_good_day():
    """Overdue means as_of > due_on: on the day itself nothing is late."""
    assert not by_class(line(date(2025, 7, 14), TODAY), "over")
    assert by_class(line(date(2025, 7, 14), date(2026, 10, 30)), "over")


def test_late_work_is_thick_from_its_due_date_to_today():
    root = line(date(2025, 4, 14), date(2026, 7, 14), state="overdue")
    (over,) = by_class(root, "over")
    (today,) = by_class(root, "today")
    (due,) = by_class(root, "due")
    assert percent(over, "x1") == percent(due, "x1")
    assert percent(over, "x2") == percent(today, "x1")
    assert "late" in due.get("class")


def test_a_deferral_runs_on_from_today_and_never_hides_the_original_date():
    root = line(
        date(2021, 4, 30), date(2026, 4, 30), deferred_until=date(2027, 3, 31),
        state="overdue_deferred",
    )  # fmt: skip
    assert by_class(root, "over") and by_class(root, "due")
    (defer,) = by_class(root, "defer")
    (end,) = by_class(root, "defer-end")
    assert percent(defer, "x2") == percent(end, "x1")
    assert "deferred to 31 Mar 2027" in root.get("aria-label")


def test_what_is_unknown_is_not_drawn():
    root = line(None, None, state="no_record")
    assert not by_class(root, "wait") and not by_class(root, "found") and not by_class(root, "due")
    assert root.get("aria-label") == "no record of it done, no due date, no record"


def test_an_interval_not_set_is_dotted_to_today_and_ends_at_no_date():
    root = line(date(2026, 2, 1), None, state="interval_not_set")
    (wait,) = by_class(root, "wait")
    assert "unset" in wait.get("class")
    assert not by_class(root, "due")


@pytest.mark.parametrize(
    "due_on, place", [(date(2035, 1, 1), "100.00%"), (date(2019, 1, 1), "0.00%")]
)
def test_a_date_beyond_the_axis_is_an_arrow_at_its_edge(due_on, place):
    root = line(date(2015, 1, 1), due_on)
    assert not by_class(root, "due") and not by_class(root, "found")
    holders = [n for n in root.iter("svg") if any(c in by_class(root, "beyond") for c in n)]
    assert holders[-1].get("x") == place


def test_outages_are_bands_with_their_name_up_to_and_with_their_last_day():
    outages = [
        OutageSpan(date(2027, 3, 1), date(2027, 3, 30), "Spring 2027"),
        OutageSpan(date(2040, 1, 1), date(2040, 2, 1), "beyond the axis"),
    ]
    (band,) = by_class(line(None, None, outages=outages), "plan")
    assert percent(band, "width") == pytest.approx(30 / 1826 * 100, abs=0.01)
    assert band[0].text == "Spring 2027, 1 Mar 2027 to 30 Mar 2027"


def test_a_row_costs_little():
    """Fifty rows are a page: a row stays far under 0.3 ms even on a slow machine."""
    outages = [OutageSpan(date(2027, 3, 1), date(2027, 3, 30), "Spring 2027")] * 4
    args = (AXIS, date(2021, 4, 30), date(2026, 4, 30), TODAY, outages, date(2027, 3, 31))
    best = min(timeit(lambda: render(interval_line(*args, "overdue")), number=50) for _ in range(5))
    assert best / 50 < 0.3e-3
