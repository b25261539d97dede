"""The settings history joins only what may be compared, and every mark opens its record."""

from datetime import date
from fractions import Fraction as F
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from fleet.drawings.pdf import draw_pdf
from fleet.drawings.svg import render
from inspections.drawings.panels import AS_FOUND, AS_LEFT, Band, Cut, Panel, Point
from inspections.drawings.settings_history import history_axis, settings_history, settings_line
from tests.fleet.drawings.reading import by_class, parsed, percent

TODAY = date(2026, 10, 31)
FIRST, SECOND = date(2020, 6, 12), date(2024, 6, 12)


def point(on, value, stage, **rest):
    label = f"{stage} {value} on {on}"
    return Point(on, None if value is None else F(value), stage, label, f"/job/{on}/", **rest)


def pair(on, found, left, **rest):
    return (point(on, found, AS_FOUND, **rest), point(on, left, AS_LEFT, **rest))


def drawn(*points, bands=(), cuts=()):
    history = settings_history([Panel("Lower ring", "notches", points, bands, cuts)], TODAY)
    return parsed(history.panels[0].scene)


def test_solid_is_the_valve_and_dotted_is_the_shop():
    root = drawn(*pair(FIRST, -8, -11), *pair(SECOND, -11, -6))
    (service,), shop = by_class(root, "service"), by_class(root, "shop")
    found, left = by_class(root, "found"), by_class(root, "left")
    assert len(shop) == len(found) == len(left) == 2
    assert (service.get("x1"), service.get("y1")) == (left[0].get("cx"), left[0].get("cy"))
    assert (service.get("x2"), service.get("y2")) == (found[1].get("cx"), found[1].get("cy"))
    assert shop[0].get("x1") == shop[0].get("x2")
    assert service.get("y1") == service.get("y2"), "it did not move in service"


def test_readings_in_any_order_draw_the_same_picture():
    points = (*pair(FIRST, -8, -11), *pair(SECOND, -11, -6))
    panels = [Panel("", "", points), Panel("", "", points[::-1])]
    first, second = (item.scene for item in settings_history(panels, TODAY).panels)
    assert render(first) == render(second)


def test_a_missing_reading_is_drawn_as_missing_and_nothing_is_joined_across_it():
    root = drawn(
        *pair(FIRST, -8, -8), point(SECOND, None, AS_FOUND), point(SECOND, -7, AS_LEFT)
    )  # fmt: skip
    assert len(by_class(root, "missing")) == 1
    assert not by_class(root, "service")
    assert len(by_class(root, "shop")) == 1, "only the first job's own pair"


def test_an_as_found_without_an_as_left_is_not_carried_on():
    root = drawn(point(FIRST, -8, AS_FOUND), point(SECOND, -8, AS_FOUND))
    assert not by_class(root, "service")


def test_readings_from_different_datums_are_never_joined():
    root = drawn(*pair(FIRST, "3/4", "3/4", datum="lip"), *pair(SECOND, "3/4", "3/4", datum="seat"))
    assert not by_class(root, "service")
    assert len(by_class(root, "shop")) == 2


def test_a_cut_between_two_jobs_parts_the_service_line_and_says_why():
    root = drawn(
        *pair(FIRST, -8, -8), *pair(SECOND, -8, -8),
        cuts=(Cut(date(2022, 1, 1), "datum changed: seat <machined>"),),
    )  # fmt: skip
    assert not by_class(root, "service")
    said = " ".join(node.text for node in by_class(root, "cut") if node.text)
    assert said == "datum changed: seat <machined>"


def test_a_cut_on_the_day_of_a_job_stands_between_its_as_found_and_as_left():
    root = drawn(
        *pair(FIRST, -8, -8), *pair(SECOND, -8, -8), cuts=(Cut(SECOND, "seat machined"),)
    )  # fmt: skip
    assert len(by_class(root, "service")) == 1, "up to that as-found the old datum held"
    assert len(by_class(root, "shop")) == 1, "that day's pair is not compared"
    found, left = by_class(root, "found")[1], by_class(root, "left")[1]
    place = next(n for n in root.iter("svg") if n.find("path[@class='cut']") is not None)
    assert percent(found, "cx") < percent(place, "x") < percent(left, "cx")


def test_a_reading_outside_the_band_of_its_day_is_a_triangle():
    """The band is a step: +/-3 % until 2021, then +1/-3 % (LER 335/2002-001 has such a limit)."""
    bands = (
        Band(None, date(2021, 1, 1), F(-3), F(3)),
        Band(date(2021, 1, 1), None, F(-3), F(1)),
    )
    root = drawn(
        point(FIRST, 2, AS_FOUND), point(SECOND, 2, AS_FOUND, outside=True), bands=bands
    )  # fmt: skip
    assert len(by_class(root, "band")) == 2
    assert [node.tag for node in by_class(root, "outside") if node.tag != "text"] == ["path"]
    assert len(by_class(root, "found")) == 2
    first, second = by_class(root, "band")
    assert percent(first, "x") == 0
    assert abs(percent(first, "width") - percent(second, "x")) < 0.02
    assert abs(percent(second, "x") + percent(second, "width") - 100) < 0.02


def test_no_lift_is_an_arrow_upwards():
    root = drawn(point(FIRST, 305, AS_FOUND, censored=True))
    assert by_class(root, "censored") and not by_class(root, "found")


def test_every_mark_is_a_link_with_a_label_a_title_and_room_for_a_finger():
    root = drawn(*pair(FIRST, -8, -11), point(SECOND, None, AS_FOUND))
    links = list(root.iter("a"))
    assert len(links) == 3 and root.get("role") == "group"
    for link in links:
        assert link.get("href").startswith("/job/") and link.get("aria-label")
        assert link.find("title").text == link.get("aria-label")
        (hit,) = by_class(link, "hit")
        assert float(hit.get("r")) * 2 >= 24  # WCAG 2.2, 2.5.8 target size (minimum): 24 by 24


def test_panels_share_one_axis_with_their_head():
    panels = [
        Panel("a", "", pair(FIRST, 1, 2)),
        Panel("b", "", pair(SECOND, 1, 2)),
    ]
    history = settings_history(panels, TODAY)
    head = [percent(node, "x1") for node in by_class(parsed(history.head), "tick")]
    for item in history.panels:
        rules = [percent(node, "x1") for node in by_class(parsed(item.scene), "year")]
        assert rules == head


def test_the_small_line_of_a_list_is_one_picture_without_stops():
    panel = Panel("Lower ring", "notches", pair(FIRST, -8, -11))
    root = parsed(settings_line(history_axis([panel], TODAY), panel))
    assert root.get("role") == "img"
    assert not list(root.iter("a")) and not list(root.iter("text"))


def test_an_empty_panel_draws_nothing_and_says_so():
    assert drawn().get("aria-label") == "Lower ring, notches: 0 readings"


def test_a_history_can_be_printed():
    bands = (Band(None, None, F(-3), F(3)),)
    points = (
        *pair(FIRST, -8, 5, outside=True),
        point(SECOND, None, AS_FOUND),
        point(SECOND, 9, AS_LEFT, censored=True),
    )
    panel = Panel("Set pressure", "%", points, bands, (Cut(date(2022, 1, 1), "method changed"),))
    canvas = Canvas(BytesIO(), invariant=1)
    assert draw_pdf(canvas, settings_history([panel], TODAY).panels[0].scene, 50, 700, 400) == 99


def test_figures_that_read_towards_each_other_both_have_room_or_one_gives_way():
    """Before a cut a figure stands to the left of its mark: the one before it must end first."""
    cut = (Cut(SECOND, "new disc"),)
    near = point(date(2023, 12, 1), 0, AS_LEFT, figure="+0.8 %")
    found = point(SECOND, 1, AS_FOUND, figure="+0.8 %")
    far = point(date(2012, 6, 1), 0, AS_LEFT, figure="+0.8 %")
    said = [node.text for node in drawn(far, found, cuts=cut).iter() if node.text == "+0.8 %"]
    assert len(said) == 2
    said = [node.text for node in drawn(near, found, cuts=cut).iter() if node.text == "+0.8 %"]
    assert len(said) == 1


def test_a_mark_set_aside_from_its_cut_stays_on_this_side_of_the_next():
    cuts = (Cut(SECOND, "S-2 fitted"), Cut(date(2024, 7, 12), "S-3 fitted"))
    root = drawn(point(FIRST, 0, AS_FOUND), point(SECOND, 1, AS_LEFT), cuts=cuts)
    (left,) = by_class(root, "left")
    axis = history_axis([Panel("", "", (point(FIRST, 0, AS_FOUND),), (), cuts)], TODAY)
    assert axis.x(SECOND) < percent(left, "cx") < axis.x(date(2024, 7, 12))
