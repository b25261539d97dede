"""A unit's lane of a plan: each outage as a vessel filled with the hours it takes, and what stands
outside: on-stream work and lines without an opportunity, month by month."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple

from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.scene import Circle, Line, Link, Mark, Rect, Rule, Scene, Text, triangle

HEIGHT, TOP, FOOT = 92, 22, 64
LEFT_OUT, ON_STREAM = 73, 86  # one beneath the other: a month may hold both
THINNEST = 1.1  # percent: a short outage must still be seen and touched
NAME_ROOM = 15.0  # percent a name needs before the next outage
A_DAY = timedelta(days=1)


class Vessel(NamedTuple):
    """An outage: the bench hours its work needs, and those it offers (None = nobody has said).

    late: how many of its jobs stand after their due date, inside a deferral."""

    starts_on: date
    ends_on: date
    name: str
    href: str
    jobs: int
    needed: Decimal
    offered: Decimal | None
    late: int = 0


class Apart(NamedTuple):
    """Lines of one month that no outage takes. kind: `none` (no opportunity) or `online`."""

    month: date
    number: int
    kind: str


def plan_lane(
    axis: TimeAxis, today: date, unit: str, vessels: Sequence[Vessel], apart: Iterable[Apart]
) -> Scene:
    """One row of the board; what lies wholly off the axis is left out."""
    shown = [v for v in vessels if v.ends_on >= axis.start and v.starts_on <= axis.end]
    marks: list[Mark] = [*axis.year_rules, Line(0, FOOT, 100, FOOT, "scale")]
    if axis.holds(today):
        marks.append(Rule(axis.x(today), "today"))
    starts = [axis.x(axis.clamp(vessel.starts_on)) for vessel in shown]
    for vessel, left, following in zip(shown, starts, [*starts[1:], 100.0], strict=False):
        marks.append(_vessel(axis, vessel, left, following))
    marks += [mark for one in apart if axis.holds(one.month) for mark in _apart(axis, one)]
    said = "; ".join(_words(vessel) for vessel in shown) or "no outage"
    return Scene(f"{unit}: {said}", HEIGHT, tuple(marks), "board")


def hours_words(hours: Decimal) -> str:
    return f"{hours.normalize():f}"


def _words(vessel: Vessel) -> str:
    days = f"{day_words(vessel.starts_on)} to {day_words(vessel.ends_on)}"
    jobs = _jobs(vessel)
    room = "hours not given" if vessel.offered is None else f"of {hours_words(vessel.offered)} h"
    return f"{vessel.name}, {days}: {jobs}, {hours_words(vessel.needed)} h {room}"


def _jobs(vessel: Vessel) -> str:
    jobs = "1 job" if vessel.jobs == 1 else f"{vessel.jobs} jobs"
    return f"{jobs}, {vessel.late} late" if vessel.late else jobs


def _vessel(axis: TimeAxis, vessel: Vessel, left: float, following: float) -> Link:
    right = axis.x(axis.clamp(vessel.ends_on + A_DAY))
    width = max(right - left, THINNEST)
    height = FOOT - TOP
    marks: list[Mark] = [Rect(left, 0, max(width, 3), HEIGHT, "hit")]
    is_over = vessel.offered is not None and vessel.needed > vessel.offered
    if vessel.offered:
        full = height * min(float(vessel.needed / vessel.offered), 1.0)
        marks.append(Rect(left, FOOT - full, width, full, "need over" if is_over else "need"))
    css = "offer" if vessel.offered is not None else "offer unknown"
    marks.append(Rect(left, TOP, width, height, css))
    if is_over:
        marks.append(triangle(left + width / 2, TOP - 8, "found outside"))
    elif vessel.late:
        marks.append(triangle(left + width / 2, TOP - 8, "left outside"))
    marks += _labels(vessel, left, width, following)
    return Link(vessel.href, _words(vessel), tuple(marks))


def _labels(vessel: Vessel, left: float, width: float, following: float) -> list[Mark]:
    """Beside the vessel where there is room; its figures stand in the label and the table too."""
    x, anchor, aside = (left + width, "start", 5.0) if left < 86 else (left, "end", -5.0)
    room = following - x if anchor == "start" else NAME_ROOM
    if room < NAME_ROOM:
        return []
    offered = "" if vessel.offered is None else f" of {hours_words(vessel.offered)}"
    hours = f"{hours_words(vessel.needed)}{offered} h"
    return [
        Text(x, TOP + 10, vessel.name, "name", anchor, aside),
        Text(x, TOP + 25, _jobs(vessel), "outside" if vessel.late else "", anchor, aside),
        Text(x, TOP + 40, hours, "", anchor, aside),
    ]


def _apart(axis: TimeAxis, one: Apart) -> list[Mark]:
    x = axis.x(min(one.month + timedelta(days=14), axis.end))
    words = str(one.number) if one.number > 1 else ""
    if one.kind == "none":
        y, css, mark = LEFT_OUT, "outside", triangle(x, LEFT_OUT, "found outside")
    else:
        y, css, mark = ON_STREAM, "", Circle(x, ON_STREAM, 4.5, "left")
    return [mark, Text(x, y + 4, words, css, "start", 9)] if words else [mark]
