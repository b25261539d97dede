"""Markup: well-formed, escaped, named, and without a style attribute (strict content policy)."""

from datetime import date

import pytest

from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.drawings.scene import Circle, Glyph, Line, Link, Rect, Scene, Stripe, Text, triangle
from fleet.drawings.svg import render
from tests.fleet.drawings.reading import by_class, parsed

HOSTILE = """<script>alert("1")</script> & 'quote'"""
TODAY = date(2026, 10, 31)


def hostile_scene():
    link = Link(HOSTILE, HOSTILE, (Circle(1, 2, 3, HOSTILE), Text(1, 2, HOSTILE, HOSTILE)))
    return Scene(HOSTILE, 10, (link, Stripe(1, 2, HOSTILE, HOSTILE), Rect(0, 0, 1, 1, HOSTILE)))


def test_hostile_text_stays_text_everywhere():
    root = parsed(hostile_scene())
    names = {node.tag for node in root.iter()}
    assert names == {"svg", "a", "title", "circle", "text", "rect"}
    assert root.get("aria-label") == HOSTILE
    (link,) = root.iter("a")
    assert link.get("href") == HOSTILE and link.get("aria-label") == HOSTILE
    assert [node.text for node in root.iter("title")] == [HOSTILE, HOSTILE]


@pytest.mark.parametrize(
    "scene",
    [
        hostile_scene(),
        axis_head(TimeAxis.around(TODAY), TODAY),
        interval_line(
            TimeAxis.around(TODAY), date(2025, 7, 14), date(2026, 10, 14), TODAY,
            [OutageSpan(date(2027, 3, 1), date(2027, 3, 20), "Spring & autumn <2027>")],
            date(2027, 3, 31), "overdue_deferred",
        ),
    ],
)  # fmt: skip
def test_a_drawing_is_well_formed_and_carries_no_style_and_no_colour(scene):
    root = parsed(scene)
    for node in root.iter():
        assert not {"style", "fill", "stroke", "onclick"} & set(node.attrib)


def test_a_drawing_with_links_is_a_group_and_one_without_is_a_picture():
    plain = Scene("plain", 10, (Line(0, 0, 1, 1, "year"),))
    linked = Scene("linked", 10, (Link("/x", "as found", (Circle(1, 1, 1, "found"),)),))
    assert parsed(plain).get("role") == "img"
    assert parsed(linked).get("role") == "group"


def test_shapes_keep_their_size_at_any_width():
    """Only places are percentages; a radius and a path are pixels, so a dot stays round."""
    root = parsed(Scene("", 10, (Circle(12.5, 5, 4.5, "found"), triangle(50, 5, "outside"))))
    assert "preserveAspectRatio" not in render(Scene("", 10, ()))
    assert not any(node.get("viewBox") for node in root.iter())
    (dot,) = by_class(root, "found")
    assert dot.get("cx") == "12.50%" and dot.get("r") == "4.5"
    (path,) = by_class(root, "outside")
    assert "%" not in path.get("d")


def test_an_open_outline_is_not_closed():
    closed, still_open = (
        Glyph(0, 0, (((0, 0), (1, 1)),), "x", closed=is_closed) for is_closed in (True, False)
    )
    root = parsed(Scene("", 10, (closed, still_open)))
    assert [node.get("d").endswith("z") for node in by_class(root, "x")] == [True, False]
