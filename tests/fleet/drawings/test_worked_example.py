"""A rule at work, drawn: every limit from its day to its day, one of them said to bind.

Days are placed by day counts of the proleptic calendar (datetime's own ordinal), not by the axis.
"""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.drawings.axis import TimeAxis
from fleet.drawings.ruler import ticks
from fleet.drawings.tolerance_band import tolerance_band
from fleet.drawings.worked_example import Lane, Moment, Worked, axis_of, worked_example
from fleet.drawings.worked_group import MemberLine, WorkedGroup, worked_group
from tests.fleet.drawings.reading import by_class, parsed, percent

# 49 CFR 192.739(a), done on 1 October 2024: the calendar year binds, a day before the 15 months do
DONE, YEAR_END, GAP_END = date(2024, 10, 1), date(2025, 12, 31), date(2026, 1, 1)
GAS = Worked(
    label="done 1 Oct 2024",
    done=(date(2023, 7, 12), DONE),
    due_on=YEAR_END,
    lanes=(
        Lane(DONE, GAP_END, "15 months"),
        Lane(DONE, YEAR_END, "end of calendar year 2025", binds=True),
    ),
    as_of=date(2025, 6, 1),
)


def texts(root):
    return [node.text for node in root.iter() if node.tag.endswith("text")]


def test_the_lane_that_binds_is_told_by_its_word_and_its_weight():
    """WCAG 2.2, 1.4.1: not by colour alone."""
    root = parsed(worked_example(GAS))
    assert "end of calendar year 2025: binds" in texts(root)
    assert "15 months: to 1 Jan 2026" in texts(root)
    assert len([node for node in by_class(root, "binds") if node.tag.endswith("line")]) == 3


def test_the_due_mark_stands_where_the_binding_lane_ends():
    root = parsed(worked_example(GAS))
    (due,) = by_class(root, "due")
    ends = {percent(node, "x2") for node in by_class(root, "span")}
    assert percent(due, "x1") in ends and max(ends) > percent(due, "x1")
    axis = axis_of(GAS)
    share = (YEAR_END.toordinal() - axis.start.toordinal()) / (
        axis.end.toordinal() - axis.start.toordinal()
    )
    assert percent(due, "x1") == pytest.approx(100 * share, abs=0.01)


def test_the_whole_is_said_to_who_cannot_see_it():
    root = parsed(worked_example(GAS))
    assert root.get("role") == "img" and root.get("aria-label") == "done 1 Oct 2024"


def test_without_a_due_date_the_line_runs_on_dashed():
    root = parsed(worked_example(Worked("by history", (DONE,), undated="no decision")))
    assert by_class(root, "unset") and not by_class(root, "due")


def test_what_was_done_long_before_is_said_not_drawn():
    """Five days after a release would be a hair's breadth beside years of history."""
    happened = date(2024, 2, 26)
    worked = Worked(
        "a release",
        (date(2003, 5, 4),),
        due_on=date(2024, 3, 2),
        counted_from=happened,
        lanes=(Lane(happened, date(2024, 3, 2), "5 days", binds=True),),
        moments=(Moment(happened, "release 26 Feb 2024"),),
    )
    root = parsed(worked_example(worked))
    assert "4 May 2003, before" in texts(root) and not by_class(root, "found")
    (line,) = by_class(root, "wait")
    assert percent(line, "x2") - percent(line, "x1") > 30


def test_nothing_at_all_is_no_drawing():
    with pytest.raises(ValueError, match="at least one day"):
        worked_example(Worked("nothing", ()))


DAYS = st.dates(date(1960, 1, 1), date(2190, 1, 1))


@given(st.lists(DAYS, min_size=1, max_size=8, unique=True), st.integers(0, 8000))
def test_every_day_that_is_drawn_stands_inside_the_drawing(days, interval):
    done = tuple(sorted(days))
    due = done[-1] + timedelta(interval)
    worked = Worked("x", done, due_on=due, lanes=(Lane(done[-1], due, "gap", binds=True),))
    root = parsed(worked_example(worked))
    places = [percent(node, "cx") for node in by_class(root, "found")]
    places += [percent(node, "x1") for node in by_class(root, "due")]
    assert places and all(0 <= place <= 100 for place in places)


@given(DAYS, st.integers(2, 30_000))
def test_the_ruler_never_crowds_and_marks_days_of_the_axis(start, span):
    axis = TimeAxis(start, start + timedelta(span))
    found = ticks(axis)
    assert len(found) <= 11 and all(axis.holds(day) and words for day, words in found)


def test_a_group_shows_each_member_and_its_window():
    group = WorkedGroup(
        "two members",
        (
            MemberLine("A", (date(2024, 2, 1),), date(2029, 2, 1), False),
            MemberLine("B", (date(2022, 2, 1),), date(2026, 2, 1), True),
            MemberLine("C", (), None, False),
        ),
        (date(2023, 3, 1), date(2025, 3, 1), "24 months: 1 of 3 tested"),
        date(2025, 3, 1),
    )
    root = parsed(worked_group(group))
    assert "B: due 1 Feb 2026" in texts(root) and "C" in texts(root)
    (window,) = by_class(root, "window")
    (today,) = [node for node in by_class(root, "today") if node.tag.endswith("line")]
    assert percent(window, "x") + percent(window, "width") == pytest.approx(
        percent(today, "x1"), abs=0.02
    )


def test_a_band_is_drawn_to_scale_about_set():
    """ASME BPVC Section I, PG-72.2: 3 % below 300 psig is three times the 1 % above 1000 psig."""
    wide = parsed(tolerance_band(Fraction(-1), Fraction(1), "−3 %", "+3 %"))
    thin = parsed(tolerance_band(Fraction(-1, 3), Fraction(1, 3), "−1 %", "+1 %"))
    (one,), (other,) = by_class(wide, "band"), by_class(thin, "band")
    assert percent(one, "width") == pytest.approx(3 * percent(other, "width"), abs=0.02)
    assert percent(one, "x") + percent(one, "width") / 2 == pytest.approx(50)
    assert wide.get("aria-label") == "from −3 % to +3 % of set pressure"
