"""The words of cuts never lie over each other, nor over a figure, at any width of the page.

Widths of words are measured with a font of its own file (DejaVu Sans, wider than the letters most
systems show), by ReportLab.
"""

import random
from datetime import date, timedelta
from itertools import combinations
from pathlib import Path

import pytest
from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont

from fleet.drawings.axis import TimeAxis
from fleet.drawings.scene import Glyph, Link, Text
from inspections.drawings.cut_labels import cut_labels
from inspections.drawings.panels import AS_FOUND, AS_LEFT, Cut, Panel, Point
from inspections.drawings.settings_history import settings_history

TODAY = date(2026, 10, 31)
FONT = Path("fleet/static/fleet/fonts/DejaVuSans.ttf")
SIZE = 11.5  # .draw text of the style sheet
WIDTHS = (300, 350, 790, 960, 1400)  # the drawing on pages of 390 pixels and less up to 1440
WORDS = ("datum changed", "method changed", "new spring", "new disc", "PSV-2204A", "S-17")


@pytest.fixture(scope="module", autouse=True)
def font():
    registerFont(TTFont("Measured", FONT))


def panel_cut(*cuts):
    points = (
        Point(date(2011, 3, 1), 0, AS_LEFT, "", "", figure="0"),
        Point(TODAY, 1, AS_FOUND, "", "", figure="1"),
    )
    return settings_history([Panel("Lower ring", "notches", points, (), cuts)], TODAY)


def words_of(scene):
    return [m for m in scene.marks if isinstance(m, Text) and m.css == "cut"]


def cuts_of(scene):
    return [m for m in scene.marks if isinstance(m, Glyph) and m.css == "cut"]


def box(text, width):
    """Left, right, top, foot in pixels."""
    at, long = text.x / 100 * width + text.dx, stringWidth(text.words, "Measured", SIZE)
    left = at - long if text.anchor == "end" else at
    return left, left + long, text.y - 9, text.y + 2


def overlap(a, b):
    return a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]


def assert_legible(scene):
    for width in WIDTHS:
        boxes = [box(text, width) for text in words_of(scene)]
        assert not [pair for pair in combinations(boxes, 2) if overlap(*pair)], width
        assert all(left >= 0 and right <= width for left, right, *_ in boxes), width


@pytest.mark.parametrize("apart", [0, 1, 20, 90, 200, 400])
@pytest.mark.parametrize("first", [date(2012, 1, 1), date(2019, 6, 1), date(2025, 6, 1)])
def test_two_near_cuts_can_both_be_read(first, apart):
    cuts = Cut(first, "datum changed"), Cut(first + timedelta(apart), "method changed")
    scene = panel_cut(*cuts).panels[0].scene
    assert_legible(scene)
    said = " ".join(text.words for text in words_of(scene))
    assert "datum changed" in said and "method changed" in said


def test_many_cuts_at_any_days_can_all_be_read():
    chance = random.Random(5)
    for _ in range(200):
        days = [date(2011, 4, 1) + timedelta(chance.randrange(5600)) for _ in range(7)]
        scene = panel_cut(*(Cut(day, chance.choice(WORDS)) for day in days)).panels[0].scene
        assert_legible(scene)
        assert len(cuts_of(scene)) == len(set(days)), "each day has its stroke"


def test_two_cuts_of_one_day_share_a_label():
    day = date(2018, 5, 1)
    scene = panel_cut(Cut(day, "new disc"), Cut(day, "datum changed")).panels[0].scene
    assert " ".join(text.words for text in words_of(scene)) == "datum changed, new disc"
    assert len(cuts_of(scene)) == 1


def test_cuts_far_apart_share_the_first_row():
    apart = panel_cut(Cut(date(2013, 1, 1), "new disc"), Cut(date(2024, 1, 1), "new disc"))
    assert {text.y for text in words_of(apart.panels[0].scene)} == {14}


def test_no_figure_reaches_up_into_the_words_of_a_cut():
    scene = panel_cut(Cut(date(2018, 5, 1), "new disc"), Cut(date(2018, 6, 1), "new spring"))
    figures = [mark.y for mark in _inner(scene.panels[0].scene) if isinstance(mark, Text)]
    assert min(figures) - SIZE >= max(text.y for text in words_of(scene.panels[0].scene))


def _inner(scene):
    return [mark for link in scene.marks if isinstance(link, Link) for mark in link.marks]


def test_rows_make_the_drawing_higher_and_leave_its_marks_where_they_stood():
    near = panel_cut(Cut(date(2018, 5, 1), "new disc"), Cut(date(2018, 6, 1), "new spring"))
    assert near.panels[0].scene.height > panel_cut().panels[0].scene.height
    bottom = min(m.y + min(y for _, y in m.outlines[0]) for m in cuts_of(near.panels[0].scene))
    assert bottom >= 8, "no stroke leaves the drawing"


def test_words_too_long_for_a_phone_go_on_in_the_next_row():
    long = "the reference was moved from the seat to the lip of the guide after machining"
    scene = panel_cut(Cut(date(2018, 5, 1), long), Cut(date(2018, 9, 1), long)).panels[0].scene
    assert_legible(scene)
    assert " ".join(text.words for text in words_of(scene)) == f"{long} {long}"


def test_no_label_before_there_is_a_cut():
    axis = TimeAxis.spanning([date(2011, 1, 1), TODAY])
    assert cut_labels((), axis) == []
