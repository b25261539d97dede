"""The board's lanes: what a vessel says, and what is marked late or without an opportunity."""

from datetime import date
from decimal import Decimal

from fleet.drawings.axis import TimeAxis
from fleet.drawings.plan_lane import Apart, Vessel, plan_lane
from fleet.drawings.scene import Circle, Glyph, Link, Rect
from fleet.drawings.svg import render

AXIS = TimeAxis(date(2026, 10, 1), date(2028, 10, 1))
TODAY = date(2026, 10, 31)


def vessel(needed="30", offered="40", late=0, **extra):
    room = None if offered is None else Decimal(offered)
    days = (date(2027, 5, 1), date(2027, 5, 21))
    return Vessel(*days, "Spring", "/x", 12, Decimal(needed), room, late, **extra)


def drawn(*vessels, apart=()):
    return plan_lane(AXIS, TODAY, "Reformer", vessels, apart)


def link(scene):
    return next(mark for mark in scene.marks if isinstance(mark, Link))


def rects(scene, css):
    return [m for m in link(scene).marks if isinstance(m, Rect) and m.css == css]


def test_a_vessel_is_filled_as_far_as_its_hours_go():
    full, need = rects(drawn(vessel()), "offer"), rects(drawn(vessel()), "need")
    assert need[0].height / full[0].height == 0.75
    assert link(drawn(vessel())).label == "Spring, 1 May 2027 to 21 May 2027: 12 jobs, 30 h of 40 h"


def test_without_hours_offered_nothing_is_filled():
    scene = drawn(vessel(offered=None))
    assert rects(scene, "offer unknown") and not rects(scene, "need")


def test_late_jobs_are_marked_in_words_and_by_shape():
    scene = drawn(vessel(late=2))
    assert "12 jobs, 2 late" in link(scene).label
    assert [m.css for m in link(scene).marks if isinstance(m, Glyph)] == ["left outside"]


def test_more_than_is_offered_is_marked_and_never_drawn_beyond_the_vessel():
    scene = drawn(vessel(needed="50"))
    assert rects(scene, "need over")[0].height == rects(scene, "offer")[0].height


def test_what_no_outage_takes_stands_beneath_by_month_with_its_number():
    scene = drawn(apart=[Apart(date(2027, 2, 1), 3, "none"), Apart(date(2027, 3, 1), 1, "online")])
    assert any(isinstance(m, Glyph) and m.css == "found outside" for m in scene.marks)
    assert any(isinstance(m, Circle) for m in scene.marks)
    assert ">3<" in render(scene) and ">1<" not in render(scene)


def test_two_kinds_of_one_month_do_not_cover_each_other():
    month = date(2027, 2, 1)
    scene = drawn(apart=[Apart(month, 1, "none"), Apart(month, 1, "online")])
    [left_out] = [m for m in scene.marks if isinstance(m, Glyph)]
    [on_stream] = [m for m in scene.marks if isinstance(m, Circle)]
    assert on_stream.y - left_out.y > 5 + on_stream.radius  # the triangle's foot, the ring's top
