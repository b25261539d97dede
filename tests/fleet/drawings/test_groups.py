"""Drawings of a sampled group: a shortfall is seen, and no state is told by colour alone.

The arithmetic of the windows is proved elsewhere; here only that the picture says what it was
given.
"""

from datetime import date

import pytest

from fleet.calc.group_windows import Step
from fleet.calc.units import parse_duration
from fleet.drawings.group_lanes import DrawnTest, Frame, group_months, member_lane
from fleet.drawings.window_steps import BASE, TOP, window_steps
from tests.fleet.drawings.reading import by_class, parsed, percent

TODAY = date(2026, 10, 31)
WINDOW, GAP = parse_duration("P24M"), parse_duration("P5Y")
SOUND = DrawnTest(date(2024, 5, 1), False, "+0.50 %, in tolerance")
HIGH = DrawnTest(date(2025, 5, 1), True, "+5.10 %, high")
LOW = DrawnTest(date(2025, 6, 1), True, "−4.00 %, low", is_low=True)
UNREAD = DrawnTest(date(2025, 7, 1), None, "not recorded")
BROUGHT = DrawnTest(date(2025, 8, 1), False, "+0.10 %, in tolerance", is_here=False)


@pytest.fixture
def frame():
    return Frame.of(TODAY, WINDOW, GAP, [date(2010, 1, 1)])


def test_the_axis_holds_a_gap_back_and_a_window_ahead(frame):
    assert frame.window == (date(2024, 11, 1), TODAY)
    assert frame.axis.holds(date(2021, 10, 31)) and not frame.axis.holds(date(2021, 1, 1))
    assert frame.axis.holds(date(2028, 10, 31))


def test_a_young_group_s_axis_begins_with_it():
    young = Frame.of(TODAY, WINDOW, GAP, [date(2026, 1, 1)])
    assert young.axis.holds(date(2024, 11, 1)) and not young.axis.holds(date(2024, 8, 1))


def test_each_test_has_a_shape_of_its_own(frame):
    tests = (SOUND, HIGH, LOW, UNREAD, BROUGHT)
    root = parsed(member_lane(frame, tests, BROUGHT.on, date(2027, 5, 1), state="compliant"))
    outside = by_class(root, "outside")
    assert [node.tag.rpartition("}")[2] for node in outside] == ["path", "path"]
    assert outside[0].get("d") != outside[1].get("d")  # up for high, down for low
    (sound,) = [node for node in by_class(root, "found") if node not in outside]
    assert sound.tag.endswith("circle") and percent(sound, "cx") == pytest.approx(
        frame.axis.x(SOUND.on), abs=0.01
    )
    assert len(by_class(root, "unread")) == 1 and len(by_class(root, "left")) == 2


def test_a_lane_says_its_tests_and_its_due_date(frame):
    root = parsed(member_lane(frame, [SOUND, HIGH], HIGH.on, date(2026, 5, 1), state="overdue"))
    assert root.get("aria-label") == (
        "tested 1 May 2024 +0.50 %, in tolerance, 1 May 2025 +5.10 %, high;"
        " last done 1 May 2025, due 1 May 2026, overdue"
    )
    assert len(by_class(root, "over")) == 1


def test_what_only_began_is_not_drawn_as_a_test(frame):
    root = parsed(member_lane(frame, [], date(2025, 1, 1), date(2027, 1, 1)))
    assert by_class(root, "missing") and not by_class(root, "found")
    assert root.get("aria-label").startswith("tested never;")


def steps(*rows):
    return [Step(date.fromisoformat(on), held, size, needed) for on, held, size, needed in rows]


def test_a_shortfall_is_filled_marked_and_said(frame):
    given = steps(
        ("2010-01-01", 3, 6, 2), ("2023-01-01", 1, 6, 2), ("2024-06-01", 2, 6, 2)
    )  # fmt: skip
    root = parsed(window_steps(frame, given))
    (short,) = by_class(root, "short")
    assert percent(short, "x") == pytest.approx(frame.axis.x(date(2023, 1, 1)), abs=0.01)
    one = (BASE - TOP) / 3
    assert float(short.get("height")) == pytest.approx(one, abs=0.06)
    assert len([n for n in by_class(root, "outside") if n.tag.endswith("path")]) == 1
    assert "1 short" in "".join(root.itertext())
    assert root.get("aria-label") == (
        "how many were tested in the 24 months before each day, against the number needed:"
        " 1 too few from 1 Jan 2023 to 1 Jun 2024"
    )


def test_one_shortfall_of_changing_size_is_marked_once(frame):
    given = steps(
        ("2010-01-01", 2, 6, 2), ("2023-01-01", 1, 6, 2), ("2023-05-01", 0, 6, 2),
        ("2023-09-01", 2, 6, 2),
    )  # fmt: skip
    root = parsed(window_steps(frame, given))
    assert len(by_class(root, "short")) == 2
    assert len([n for n in by_class(root, "outside") if n.tag.endswith("path")]) == 1


def test_what_is_ahead_is_told_apart_from_what_was(frame):
    given = steps(("2010-01-01", 2, 6, 2), ("2027-03-01", 1, 6, 2))
    root = parsed(window_steps(frame, given))
    (short,) = by_class(root, "short")
    assert "ahead" in short.get("class").split()
    said = " ".join(root.itertext())
    assert "2 in the 24 months to 31 Oct 2026, 2 needed" in said
    assert "too few from 1 Mar 2027 unless tested" in said
    assert root.get("aria-label").endswith("never too few")  # nothing was


def test_nothing_is_drawn_of_the_years_before_there_was_a_group(frame):
    root = parsed(window_steps(frame, steps(("2025-01-01", 1, 5, 1))))
    lines = by_class(root, "needed")
    assert min(percent(line, "x1") for line in lines) == pytest.approx(
        frame.axis.x(date(2025, 1, 1)), abs=0.01
    )


def test_many_are_drawn_by_month_with_their_failures(frame):
    done = [DrawnTest(date(2025, 5, day), day == 3, "") for day in (1, 2, 3, 4)]
    scene = group_months(frame, [*done, SOUND], [date(2027, 5, 1), date(2026, 1, 1)])
    root = parsed(scene)
    heights = sorted(float(bar.get("height")) for bar in by_class(root, "tests"))
    assert heights == [21, 84]
    assert len(by_class(root, "outside")) == 1
    assert [len(by_class(root, word)) for word in ("dues", "late")] == [2, 1]
    assert scene.label == "5 tests, 1 of them failed, by month; 2 due"
