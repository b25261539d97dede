"""A rule at work: what was done, how far each of its limits reaches, and which of them binds.

Read from the top: the line of what was done and when it is due; beneath it a lane for each limit,
measured off from the day it counts from like a dimension on a shop drawing. The one that binds is
drawn heavy and dropped from the due date; windows are bands.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.ruler import ruler
from fleet.drawings.scene import Circle, Line, Mark, Rect, Scene, Text, chevron, triangle

LINE, TOP, LANE, FOOT = 46, 96, 40, 34  # where things stand, in pixels
LETTER = 1.8  # percent of the width that a letter takes on a phone
BESIDE = 14  # percent: nearer to an edge, words stand beside their mark
CROWDED = 8  # times longer than what the answer rests on: what was done before is left out


class Lane(NamedTuple):
    """From a day to a day, and its words. `binds`: it is what the due date comes from."""

    from_on: date
    to_on: date
    words: str
    binds: bool = False
    is_window: bool = False


class Moment(NamedTuple):
    """A day beside the work: something that happened, was read, or begins."""

    on: date
    words: str


@dataclass(frozen=True)
class Worked:
    """What is drawn, already decided by the caller.

    done: ascending. bands: windows, laid behind the line. counted_from: the day the due date
    counts from. as_of: drawn where it is near. undated: why there is no due date. label: the whole
    of it in words.
    """

    label: str
    done: tuple[date, ...]
    due_on: date | None = None
    target_on: date | None = None
    counted_from: date | None = None
    lanes: tuple[Lane, ...] = ()
    bands: tuple[tuple[date, date], ...] = ()
    moments: tuple[Moment, ...] = ()
    as_of: date | None = None
    undated: str = ""


def worked_example(worked: Worked) -> Scene:
    """Raises ValueError when there is no day at all to draw."""
    axis = axis_of(worked)
    height = TOP + LANE * len(worked.lanes) + FOOT
    marks = ruler(axis, height)
    if worked.as_of and axis.holds(worked.as_of):
        marks += _as_of(axis, worked.as_of, height)
    for first, last in worked.bands:
        width = max(axis.x(last) - axis.x(first), 0.3)
        marks.append(Rect(axis.x(first), LINE - 12, width, 24, "window"))
    marks += _past(axis, worked)
    for number, lane in enumerate(worked.lanes):
        marks += _lane(axis, lane, TOP + LANE * number + 26)
    marks += _due(axis, worked)
    return Scene(worked.label, height, tuple(marks), "worked")


def axis_of(worked: Worked) -> TimeAxis:
    """All its days with room on both sides; as_of, and what was done long before, where near."""
    first, last = _rests_on(worked)
    if worked.done and (last - worked.done[0]).days <= CROWDED * max((last - first).days, 6):
        first = min(first, worked.done[0])
    span = max((last - first).days, 6)
    if worked.as_of and last < worked.as_of <= last + timedelta(span // 4):
        last, span = worked.as_of, (worked.as_of - first).days
    is_cut = bool(worked.done) and worked.done[0] < first
    before, after = round(span * (0.4 if is_cut else 0.06)), round(span * 0.14)
    return TimeAxis(first - timedelta(max(before, 1)), last + timedelta(max(after, 1)))


def _rests_on(worked: Worked) -> tuple[date, date]:
    """The first and the last day that the answer rests on; without one, two years."""
    days = [moment.on for moment in worked.moments]
    days += [day for lane in worked.lanes for day in (lane.from_on, lane.to_on)]
    days += [day for day in (worked.due_on, worked.target_on) if day]
    if worked.done and not worked.counted_from:
        days.append(worked.done[-1])
    if not days:
        raise ValueError("a worked example needs at least one day")
    last = max(days) if worked.due_on else max(days) + timedelta(700)
    return min(days), last


def _as_of(axis: TimeAxis, day: date, height: float) -> list[Mark]:
    x = axis.x(day)
    rule = Line(x, 16, x, height - 22, "today")
    return [rule, Text(x, 11, f"as of {day_words(day)}", "today", *_beside(x))]


def _past(axis: TimeAxis, worked: Worked) -> list[Mark]:
    """What was done and what happened; the line on from the day that the due date counts from."""
    marks: list[Mark] = []
    shown = [day for day in worked.done if axis.holds(day)]
    if len(worked.done) > 1 and shown:
        x1, x2 = axis.x(axis.clamp(worked.done[0])), axis.x(shown[-1])
        marks.append(Line(x1, LINE, x2, LINE, "served"))
    if ago := _ago(worked, shown):
        marks += [chevron(0, LINE, "beyond", points_left=True), Text(0, LINE + 24, ago)]
    begins = worked.counted_from or (worked.done[-1] if worked.done else None)
    if begins:
        ends = worked.due_on or axis.end
        css = "wait" if worked.due_on else "wait unset"
        marks.append(Line(axis.x(begins), LINE, axis.x(ends), LINE, css))
    marks += [triangle(axis.x(m.on), LINE, "happened") for m in worked.moments]
    marks += [Circle(axis.x(day), LINE, 5, "found") for day in shown]
    here = {moment.on for moment in worked.moments}
    days = [Moment(day, day_words(day)) for day in reversed(shown) if day not in here]
    said = [*days[:1], *worked.moments, *days[1:]]
    return marks + _words(axis, said, taken_to=_room(_ago(worked, shown)))


def _ago(worked: Worked, shown: list[date]) -> str:
    """What was done last of all that is too long ago to be drawn."""
    left_out = worked.done[: len(worked.done) - len(shown)]
    return f"{day_words(left_out[-1])}, before" if left_out else ""


def _words(axis: TimeAxis, said: Iterable[Moment], *, taken_to: float) -> list[Mark]:
    """The words beneath their marks: as many as have room, those that matter most first."""
    marks: list[Mark] = []
    taken = [(0.0, taken_to)] if taken_to else []
    for day, words in said:
        x, room = axis.x(day), _room(words)
        anchor, aside = _beside(x)
        left = x - {"start": 0, "middle": room / 2, "end": room}[anchor]
        if all(left >= end or left + room <= start for start, end in taken):
            marks.append(Text(x, LINE + 24, words, "", anchor, aside))
            taken.append((left, left + room))
    return marks


def _room(words: str) -> float:
    return len(words) * LETTER


def _beside(x: float) -> tuple[str, float]:
    if x < BESIDE:
        return "start", -5
    return ("end", 5) if x > 100 - BESIDE else ("middle", 0)


def _lane(axis: TimeAxis, lane: Lane, y: float) -> list[Mark]:
    """A dimension: a stroke from day to day with its ends squared off, its words above it."""
    x1, x2 = axis.x(lane.from_on), axis.x(lane.to_on)
    css = "span binds" if lane.binds else "span"
    text = _lane_words(lane, x1, x2, y - 9)
    if lane.is_window:
        return [Rect(x1, y - 5, max(x2 - x1, 0.3), 10, "window"), text]
    ends = [Line(x, y - 5, x, y + 5, css) for x in (x1, x2)]
    return [Line(x1, y, x2, y, css), *ends, text]


def _lane_words(lane: Lane, x1: float, x2: float, y: float) -> Text:
    words = lane.words
    if lane.binds:
        words = f"{words}: binds"
    elif not lane.is_window:
        words = f"{words}: to {day_words(lane.to_on)}"
    css = "binds" if lane.binds else ""
    return Text(x2, y, words, css, "end", -6) if x1 > 42 else Text(x1, y, words, css)


def _due(axis: TimeAxis, worked: Worked) -> list[Mark]:
    marks: list[Mark] = []
    if worked.target_on:
        marks.append(Circle(axis.x(worked.target_on), LINE, 5.5, "left"))
    if worked.due_on is None:
        return marks
    x = axis.x(worked.due_on)
    binding = [n for n, lane in enumerate(worked.lanes) if lane.binds]
    if binding:
        marks.append(Line(x, LINE + 14, x, TOP + LANE * binding[-1] + 26, "drop"))
    marks.append(Line(x, LINE - 14, x, LINE + 14, "due"))
    words = f"due {day_words(worked.due_on)}"
    marks.append(Text(x, LINE - 19, words, "binds", *_beside(x)))
    return marks
