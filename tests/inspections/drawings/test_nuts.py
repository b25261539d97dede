"""The drawing of the nuts: each stands on the circle, and says its turn."""

from math import hypot

import pytest

from fleet.drawings.scene import Circle, Text
from fleet.drawings.svg import render
from inspections.calc.tightening import tightening
from inspections.drawings.nuts import CIRCLE, MIDDLE, SIZE, nuts_drawing


@pytest.mark.parametrize("nuts", range(3, 33))
def test_every_nut_stands_on_the_circle_and_says_its_turn(nuts):
    scene = nuts_drawing(nuts)
    circles = [m for m in scene.marks if isinstance(m, Circle) and m.css.startswith("nut")][1:]
    texts = [mark for mark in scene.marks if isinstance(mark, Text)]
    assert [text.words for text in texts] == [str(turn) for turn in range(1, nuts + 1)]
    for circle in circles:
        away = hypot(circle.x / 100 * SIZE - MIDDLE, circle.y - MIDDLE)
        assert away == pytest.approx(CIRCLE, abs=0.1)
    gaps = [
        hypot((a.x - b.x) / 100 * SIZE, a.y - b.y)
        for place, a in enumerate(circles)
        for b in circles[:place]
    ]
    assert min(gaps) > 2 * circles[0].radius  # none lies over another


def test_the_first_stands_at_the_top_and_the_order_is_read_aloud():
    scene = nuts_drawing(8)
    top = next(m for m in scene.marks if isinstance(m, Circle) and m.css == "nut first")
    assert (top.x, top.y) == (50, MIDDLE - CIRCLE)
    assert "in the order 1, 5, 3, 7" in scene.label
    assert ", ".join(map(str, tightening(8))) in render(scene)
