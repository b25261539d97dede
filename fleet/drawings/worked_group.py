"""A sampled group at work: a line for each member, and the window that ends on the day asked."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.ruler import ruler
from fleet.drawings.scene import Circle, Line, Mark, Scene, Stripe, Text, triangle

TOP, ROW, FOOT = 46, 42, 30


class MemberLine(NamedTuple):
    """One member: when it was tested, ascending, and when it is due. `is_next`: by the group, not
    by its own gap. failed: which of its tests did."""

    name: str
    done: tuple[date, ...]
    due_on: date | None
    is_next: bool
    failed: tuple[date, ...] = ()


@dataclass(frozen=True)
class WorkedGroup:
    """window: its first and last day, and its words."""

    label: str
    members: tuple[MemberLine, ...]
    window: tuple[date, date, str]
    as_of: date


def worked_group(group: WorkedGroup) -> Scene:
    axis = _axis(group)
    height = TOP + ROW * len(group.members) + FOOT
    first, last, words = group.window
    left, right = axis.x(axis.clamp(first)), axis.x(axis.clamp(last))
    marks: list[Mark] = [
        Stripe(left, right - left, "window", words),
        *ruler(axis, height),
        Line(axis.x(group.as_of), 16, axis.x(group.as_of), height - 22, "today"),
        Text(axis.x(group.as_of), 11, f"as of {day_words(group.as_of)}", "today", "end", -4),
        Text(axis.x(group.as_of), 28, words, "", "end", -4),
    ]
    for number, member in enumerate(group.members):
        marks += _member(axis, member, TOP + ROW * number + 24)
    return Scene(group.label, height, tuple(marks), "worked")


def _axis(group: WorkedGroup) -> TimeAxis:
    """What was tested, the window and the day; due dates far off are drawn to the edge."""
    days = [day for member in group.members for day in member.done]
    first, last = min([*days, group.window[0]]), group.as_of
    dues = [m.due_on for m in group.members if m.due_on and m.due_on > last]
    furthest = last + max(last - first, timedelta(30))
    last = min(max([*dues, last]), furthest)
    span = (last - first).days
    return TimeAxis(first - timedelta(round(span * 0.06)), last + timedelta(round(span * 0.14)))


def _member(axis: TimeAxis, member: MemberLine, y: float) -> list[Mark]:
    marks: list[Mark] = [Line(0, y, 100, y, "scale")]
    css = "binds" if member.is_next else ""
    if member.done:
        x = axis.x(member.done[-1])
        ends = axis.x(axis.clamp(member.due_on)) if member.due_on else 100
        marks.append(Line(x, y, ends, y, "wait" if member.due_on else "wait unset"))
        marks += [_test(axis.x(day), y, day in member.failed) for day in member.done]
    words = member.name
    if member.due_on:
        words = f"{member.name}: due {day_words(member.due_on)}"
        if axis.holds(member.due_on):
            x = axis.x(member.due_on)
            marks.append(Line(x, y - 11, x, y + 11, "due"))
    marks.append(Text(0, y - 9, words, css))
    return marks


def _test(x: float, y: float, is_failed: bool) -> Mark:
    return triangle(x, y, "found outside") if is_failed else Circle(x, y, 5, "found")
