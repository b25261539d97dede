"""The settings history: what the valve did in service, and what the shop did to it.

A solid line joins an as-left to the next as-found; a dotted one joins as-found to as-left on one
day. A level solid line with dotted steps is a valve moved by people; a sloping one drifts. Nothing
is joined across a missing reading, a change of datum, a change of device or a cut.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.scene import Circle, Line, Link, Mark, Rect, Scene, Text, double_stroke
from inspections.drawings.cut_labels import LETTER, NARROWEST, cut_labels, room_for
from inspections.drawings.panels import AS_FOUND, AS_LEFT, Band, Cut, Panel, Point
from inspections.drawings.places import Places, mark_of

HEIGHT = 124
MARGIN = 32
SMALL_HEIGHT = 56
FIGURE_ROOM = 8.5  # percent a figure needs beside its mark before the next may have one
NEAR_RIGHT = 90.0
BESIDE = 6.0  # pixels from a mark to its figure


@dataclass(frozen=True)
class DrawnPanel:
    panel: Panel
    scene: Scene


@dataclass(frozen=True)
class History:
    """Panels over one axis; `head` is the strip of years that belongs beneath or above them."""

    head: Scene
    panels: tuple[DrawnPanel, ...]


def history_axis(panels: Iterable[Panel], today: date) -> TimeAxis:
    """The shared axis: every point and cut of every panel, and today."""
    days = {today}
    for panel in panels:
        days.update(point.on for point in panel.points)
        days.update(cut.on for cut in panel.cuts)
    return TimeAxis.spanning(days)


def settings_history(panels: Sequence[Panel], today: date, axis: TimeAxis | None = None) -> History:
    """Several panels, aligned: every mark is a link with its label, reached by keyboard."""
    axis = axis or history_axis(panels, today)
    return History(
        axis_head(axis, today), tuple(DrawnPanel(panel, _scene(panel, axis)) for panel in panels)
    )


def settings_line(axis: TimeAxis, panel: Panel) -> Scene:
    """One panel small, for a row of a list: one picture with one label, no links, no figures."""
    half = SMALL_HEIGHT / 2
    place = Places(panel, axis, 12 - half, half - 12)
    marks = _ground(panel, place)
    marks += [double_stroke(axis.x(cut.on), 0, half - 10, "cut") for cut in panel.cuts]
    marks += [mark for point in place.points for mark in mark_of(point, place, 0.75)]
    return Scene(_words(panel), SMALL_HEIGHT, tuple(marks), is_centred=True)


def _scene(panel: Panel, axis: TimeAxis) -> Scene:
    labels = cut_labels(panel.cuts, axis)
    height = HEIGHT + room_for(labels)
    place = Places(panel, axis, height - HEIGHT + MARGIN, height - MARGIN)
    marks = _ground(panel, place)
    marks += [label.stroke(height - 8) for label in labels]
    marks += [text for label in labels for text in label.texts()]
    figures = _figured(place)
    marks += [_link(p, place, p in figures) for p in place.points if not p.unplaced]
    return Scene(_words(panel), height, tuple(marks))


def _ground(panel: Panel, place: Places) -> list[Mark]:
    """Years, bands and the joining lines: what the readings stand on."""
    marks: list[Mark] = [*place.axis.year_rules]
    for band in panel.bands:
        marks += _band(band, place.axis, place)
    for earlier, later in pairwise(place.points):
        marks += _joined(earlier, later, panel.cuts, place)
    return marks


def _band(band: Band, axis: TimeAxis, place: Places) -> list[Mark]:
    left = axis.x(axis.clamp(band.from_on)) if band.from_on else 0.0
    right = axis.x(axis.clamp(band.to_on)) if band.to_on else 100.0
    top, bottom = place.level(band.high), place.level(band.low)
    return [
        Rect(left, top, right - left, bottom - top, "band"),
        Line(left, top, right, top, "edge"),
        Line(left, bottom, right, bottom, "edge"),
    ]


def _joined(earlier: Point, later: Point, cuts: Sequence[Cut], place: Places) -> list[Mark]:
    """The line between two readings that follow each other, where one may be drawn at all."""
    if earlier.value is None or later.value is None:
        return []
    if (earlier.datum, earlier.run) != (later.datum, later.run):
        return []
    stages = (earlier.stage, later.stage)
    is_one_day = earlier.on == later.on
    if is_one_day and stages == (AS_FOUND, AS_LEFT):
        css = "shop"
    elif not is_one_day and stages == (AS_LEFT, AS_FOUND):
        css = "service"
    else:
        return []
    if any(_parts(cut, earlier, later) for cut in cuts):
        return []
    return [Line(place.x(earlier), place.y(earlier), place.x(later), place.y(later), css)]


def _parts(cut: Cut, earlier: Point, later: Point) -> bool:
    """A cut on the day of an overhaul lies between its as-found and its as-left."""
    return earlier.on < cut.on < later.on or earlier.on == cut.on == later.on


def _link(point: Point, place: Places, has_figure: bool) -> Link:
    x, y = place.x(point), place.y(point)
    marks: list[Mark] = [Circle(x, y, 13, "hit"), *mark_of(point, place)]
    if has_figure:
        marks.append(_figure(point, place))
    return Link(point.href, point.label, tuple(marks))


def _figure(point: Point, place: Places) -> Text:
    """Beside its mark, on the side away from the day's other mark."""
    x, y = place.x(point), place.y(point)
    others = [place.y(other) for other in place.points if other.on == point.on and other != point]
    is_above = not others or y <= min(others)
    css = "outside" if point.outside else "left" if point.stage == AS_LEFT else ""
    anchor, aside = ("end", -BESIDE) if _reads_left(point, place) else ("start", BESIDE)
    return Text(x, y - 10 if is_above else y + 20, point.figure, css, anchor, aside)


def _reads_left(point: Point, place: Places) -> bool:
    """Its figure stands before it: at the right edge, or where a cut follows at once."""
    x = place.x(point)
    return x > NEAR_RIGHT or x < place.axis.x(point.on)


def _figured(place: Places) -> list[Point]:
    """The points with room for a figure, newest first; equal figures of a day are said once."""
    chosen: list[Point] = []
    seen: set[tuple[date, str]] = set()
    for point in reversed(place.points):
        if not point.figure or point.unplaced or (point.on, point.figure) in seen:
            continue
        if not chosen or chosen[-1].on == point.on or _has_room(point, chosen[-1], place):
            chosen.append(point)
            seen.add((point.on, point.figure))
    return chosen


def _has_room(point: Point, later: Point, place: Places) -> bool:
    """For its figure before the later one's; two that read towards each other need both whole."""
    needed = FIGURE_ROOM
    if _reads_left(later, place) and not _reads_left(point, place):
        letters = len(point.figure) + len(later.figure)
        needed = max(needed, (letters * LETTER + 2 * BESIDE) / NARROWEST * 100)
    return place.axis.x(later.on) - place.axis.x(point.on) >= needed


def _words(panel: Panel) -> str:
    parts = [f"{panel.title}, {panel.unit}: {len(panel.points)} readings"]
    if panel.points:
        parts.append(f"latest {panel.ordered[-1].label}")
    parts += [f"cut: {cut.reason}" for cut in panel.cuts]
    return ", ".join(parts)
