"""The interval line: last done, due, today, the outages between. Late work is seen, not read."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

from fleet.drawings.axis import TimeAxis, day_words
from fleet.drawings.scene import Circle, Line, Mark, Rule, Scene, Stripe, chevron

HEIGHT = 64
ONE_DAY = timedelta(days=1)
THINNEST = 0.45  # percent: a five-day outage must still be seen on an axis of six years


class OutageSpan(NamedTuple):
    """An outage on the axis; `ends_on` is its last day."""

    starts_on: date
    ends_on: date
    name: str


def interval_line(
    axis: TimeAxis,
    last_on: date | None,
    due_on: date | None,
    today: date,
    outages: Iterable[OutageSpan] = (),
    deferred_until: date | None = None,
    state: str = "",
) -> Scene:
    """One row's line. `state` is the due list's status word; it colours the due mark."""
    marks: list[Mark] = [*axis.year_rules, *_stripes(axis, outages)]
    if axis.holds(today):
        marks.append(Rule(axis.x(today), "today"))
    marks += _waiting(axis, last_on, due_on, today)
    if due_on:
        marks += _late(axis, due_on, today, deferred_until)
        marks += _due(axis, due_on, _tone(state))
    if last_on and axis.holds(last_on):
        marks.append(Circle(axis.x(last_on), 0, 4.5, "found"))
    label = _words(last_on, due_on, deferred_until, state)
    return Scene(label, HEIGHT, tuple(marks), is_centred=True)


def _stripes(axis: TimeAxis, outages: Iterable[OutageSpan]) -> list[Mark]:
    stripes: list[Mark] = []
    for starts_on, ends_on, name in outages:
        if ends_on < axis.start or starts_on > axis.end:
            continue
        left, right = axis.x(axis.clamp(starts_on)), axis.x(axis.clamp(ends_on + ONE_DAY))
        title = f"{name}, {day_words(starts_on)} to {day_words(ends_on)}"
        stripes.append(Stripe(left, max(right - left, THINNEST), "plan", title))
    return stripes


def _waiting(axis: TimeAxis, last_on: date | None, due_on: date | None, today: date) -> list[Mark]:
    """From the last time to the due date; dashed to today where no due date is known."""
    if not last_on:
        return []
    left, right = axis.clamp(last_on), axis.clamp(due_on or today)
    return [Line(axis.x(left), 0, axis.x(right), 0, "wait" if due_on else "wait unset")]


def _late(axis: TimeAxis, due_on: date, today: date, deferred_until: date | None) -> list[Mark]:
    marks: list[Mark] = []
    if today > due_on and axis.end > due_on:
        until = axis.x(axis.clamp(today))
        marks.append(Line(axis.x(axis.clamp(due_on)), 0, until, 0, "over"))
    if deferred_until and deferred_until > due_on:
        begins, ends = (
            axis.clamp(max(due_on, min(today, deferred_until))),
            axis.clamp(deferred_until),
        )
        marks.append(Line(axis.x(begins), 0, axis.x(ends), 0, "defer"))
        if axis.holds(deferred_until):
            x = axis.x(deferred_until)
            marks.append(Line(x, -9, x, 9, "defer-end"))
    return marks


def _due(axis: TimeAxis, due_on: date, tone: str) -> list[Mark]:
    if axis.holds(due_on):
        x = axis.x(due_on)
        return [Line(x, -12, x, 12, f"due{tone}")]
    is_before = due_on < axis.start
    return [chevron(0 if is_before else 100, 0, f"beyond{tone}", points_left=is_before)]


def _tone(state: str) -> str:
    return " late" if state.startswith("overdue") else " soon" if state == "due_soon" else ""


def _words(
    last_on: date | None, due_on: date | None, deferred_until: date | None, state: str
) -> str:
    parts = [f"last done {day_words(last_on)}" if last_on else "no record of it done"]
    parts.append(f"due {day_words(due_on)}" if due_on else "no due date")
    if deferred_until:
        parts.append(f"deferred to {day_words(deferred_until)}")
    if state:
        parts.append(state.replace("_", " "))
    return ", ".join(parts)
