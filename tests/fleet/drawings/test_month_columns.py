"""Months as columns: what is drawn is what was given, and no state is told by colour alone."""

from datetime import date

import pytest

from fleet.drawings.month_columns import FOOT, Column, Down, month_columns, months_head, round_step
from tests.fleet.drawings.reading import by_class, parsed, percent

OCTOBER = date(2026, 10, 1)


def row(*columns, top=100.0):
    return parsed(month_columns("Reformer", OCTOBER, columns, height=121 + FOOT, top=top))


def test_a_column_is_as_tall_as_its_hours_and_stands_on_the_base_line():
    root = row(Column(50), Column(100), Column(0))
    half, whole = by_class(root, "column")
    (base,) = by_class(root, "base")
    assert float(half.get("height")) * 2 == pytest.approx(float(whole.get("height")), abs=0.1)
    for column in (half, whole):
        foot = float(column.get("y")) + float(column.get("height"))
        assert foot == pytest.approx(float(base.get("y1")), abs=0.1)
    assert percent(whole, "x") - percent(half, "x") == pytest.approx(100 / 3, abs=0.02)


def test_work_on_stream_stands_on_top():
    root = row(Column(50, 25))
    (bench,), (light,) = by_class(root, "column"), by_class(root, "light")
    foot = float(light.get("y")) + float(light.get("height"))
    assert foot == pytest.approx(float(bench.get("y")), abs=0.1)


def test_what_is_offered_is_a_line_and_nothing_where_nobody_said():
    root = row(Column(50, offered=50.0), Column(50), Column(0, offered=0.0))
    said, nought = by_class(root, "offer")
    (first, _) = by_class(root, "column")
    assert float(said.get("y1")) == pytest.approx(float(first.get("y")), abs=0.1)
    (base,) = by_class(root, "base")
    assert nought.get("y1") == base.get("y1")


def test_too_much_and_unknown_hours_have_shapes_of_their_own():
    root = row(Column(50, is_over=True), Column(20, has_unknown=True), Column(10))
    (over,), (unknown,) = by_class(root, "beyond-offer"), by_class(root, "unknown")
    assert over.tag.endswith("path") and unknown.tag.endswith("path")
    assert over.get("d") != unknown.get("d")


def test_a_month_with_work_is_a_link_that_says_everything():
    root = row(Column(50, label="May 2029: 50 h", href="/here/?month=2029-05"), Column(0))
    (link,) = [node for node in root.iter() if node.tag.endswith("}a") or node.tag == "a"]
    assert link.get("href") == "/here/?month=2029-05"
    assert link.get("aria-label") == "May 2029: 50 h"


def test_years_are_marked_where_they_begin():
    words = "".join(parsed(months_head(OCTOBER, 60)).itertext())
    assert words == "2027" + "2028" + "2029" + "2030" + "2031"
    assert "".join(parsed(months_head(date(2026, 2, 1), 60)).itertext()).startswith("Feb 2026")
    assert len(by_class(row(*[Column(1)] * 27), "year")) == 2  # January 2027 and 2028


@pytest.mark.parametrize(
    ("top", "step"), [(0, 0), (0.5, 0.5), (1, 1), (4.9, 2), (245, 200), (579, 500), (1000, 1000)]
)
def test_the_scale_is_a_round_number_no_higher_than_the_tallest(top, step):
    assert round_step(top) == pytest.approx(step)


def test_nothing_owed_draws_nothing():
    root = row(Column(0), Column(0), top=0)
    assert not by_class(root, "column") and not by_class(root, "scale")


def test_an_outage_is_seen_behind_its_months():
    """By hand: 16 October to the end of November are one month and a half of four."""
    down = [
        Down(date(2026, 10, 17), date(2026, 11, 30), "Autumn"),
        Down(date(2020, 1, 1), date(2026, 9, 30), "Long past"),
    ]
    columns = [Column(1)] * 4
    root = parsed(month_columns("Unit", OCTOBER, columns, height=64, top=1, down=down))
    (stripe,) = by_class(root, "plan")
    assert percent(stripe, "x") == pytest.approx(100 * 16 / 31 / 4, abs=0.01)
    assert percent(stripe, "x") + percent(stripe, "width") == pytest.approx(50, abs=0.01)
    assert "".join(stripe.itertext()) == "Autumn, 17 Oct 2026 to 30 Nov 2026"
