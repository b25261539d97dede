"""The limits of a rule about one history, each with its day and its words, for showing.

Nothing is due by these: `Shape.due` alone says when. They say what it was the earliest of.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any, NamedTuple

from fleet.calc.durations import Duration
from fleet.calc.intervals import (
    CALENDAR,
    GAP,
    NOTHING,
    TRIGGER_KINDS,
    WINDOW,
    AgeSteps,
    BeforeUse,
    Calendar,
    Capped,
    Due,
    Known,
    MaxGap,
    Rolling,
    Shape,
)
from fleet.calc.shapes.calendars import MONTH, season_day

TARGET = "target"  # no limit: what is aimed at before one
ONE_DAY = timedelta(days=1)
NEVER = Duration(2400, 0, "P200Y")  # a gap that never binds


class Limit(NamedTuple):
    """What the rule counts from a day, and the last day that it allows; `code` as in `Due`."""

    code: str
    from_on: date
    on: date
    words: str


class Window(NamedTuple):
    """Days [from_on, to_on] within which something has to be done, or counts."""

    from_on: date
    to_on: date
    words: str


def limits_of(shape: Shape, history: Sequence[date], known: Known = NOTHING) -> list[Limit]:
    """Every limit that the rule has a day for; none where it gives no date."""
    due = shape.due(history, known) if history or not shape.needs_history else None
    return LIMITS.get(shape.kind, _only)(shape, history, due) if due else []


def windows_of(shape: Shape, history: Sequence[date], known: Known = NOTHING) -> list[Window]:
    """The windows that the answer rests on."""
    due = shape.due(history, known) if history or not shape.needs_history else None
    if due is None:
        return []
    if isinstance(shape, Rolling) and len(history) >= shape.count:
        first = history[-shape.count]
        words = f"{shape.count} in these {shape.window.words}"
        return [Window(first, shape.window.after(first), words)]
    if isinstance(shape, BeforeUse):
        season = season_of(shape, due, known)
        return [Window(shape.window.before(season), due.due_on, "counts for the season")]
    return []


def season_of(shape: BeforeUse, due: Due, known: Known) -> date:
    """The first day of the season that it is due before."""
    month, day = season_day(known.season)
    season = date(due.due_on.year, month, day)
    while shape.lead.before(season) <= due.due_on:
        season = season.replace(year=season.year + 1)
    return season


def _max_gap(shape: MaxGap, history: Sequence[date], due: Due) -> list[Limit]:
    return [_gap(shape.gap, history[-1])]


def _gap(gap: Duration, last: date) -> Limit:
    return Limit(GAP, last, gap.after(last), gap.words)


def _calendar(shape: Calendar, history: Sequence[date], due: Due) -> list[Limit]:
    ends = replace(shape, gap=NEVER).due(history).due_on
    named = f"{ends:%b %Y}" if shape.unit == MONTH else f"{ends:%Y}"
    words = f"end of calendar {shape.unit} {named}"
    return [_gap(shape.gap, history[-1]), Limit(CALENDAR, history[-1], ends, words)]


def _rolling(shape: Rolling, history: Sequence[date], due: Due) -> list[Limit]:
    found = [_gap(shape.gap, history[-1])]
    if len(history) >= shape.count:
        first = history[-shape.count]
        words = f"{shape.count} in any {shape.window.words}"
        found.append(Limit(WINDOW, first, shape.window.after(first), words))
    return found


def _capped(shape: Capped, history: Sequence[date], due: Due) -> list[Limit]:
    last = history[-1]
    aim = Limit(TARGET, last, due.target_on or due.due_on, f"{shape.target.words}, the target")
    return [aim, Limit(due.limit, last, due.due_on, f"{shape.cap.words}, the cap")]


def _age_steps(shape: AgeSteps, history: Sequence[date], due: Due) -> list[Limit]:
    begins = due.counted_from or history[-1]
    gaps = (gap for _, gap in shape.steps)
    gap = next((gap for gap in gaps if gap.after(begins) == due.due_on), None)
    words = f"{gap.words} at this age" if gap else "by its age"
    return [Limit(due.limit, begins, due.due_on, words)]


def _usage(shape: Any, history: Sequence[date], due: Due) -> list[Limit]:
    words = f"{shape.count} {shape.counter.replace('_', ' ')}"
    return [Limit(due.limit, history[-1], due.due_on, words)]


def _after_event(shape: Any, history: Sequence[date], due: Due) -> list[Limit]:
    days = f"{shape.days} day{'' if shape.days == 1 else 's'}" if shape.days else "on that day"
    kinds = [TRIGGER_KINDS[kind] for kind in shape.kinds]
    words = f"{days} after the {kinds[0]}" if len(kinds) == 1 and shape.days else days
    return [Limit(due.limit, due.counted_from or due.due_on, due.due_on, words)]


def _before_use(shape: BeforeUse, history: Sequence[date], due: Due) -> list[Limit]:
    ahead = f"{shape.lead.words} ahead of" if shape.lead.months or shape.lead.days else "before"
    return [Limit(due.limit, history[-1], due.due_on, f"{ahead} the season")]


def _only(shape: Shape, history: Sequence[date], due: Due) -> list[Limit]:
    return [Limit(due.limit, due.counted_from or history[-1], due.due_on, shape.words())]


def _group_sample(shape: Any, history: Sequence[date], due: Due) -> list[Limit]:
    return [_gap(shape.gap, history[-1])]


LIMITS: dict[str, Callable[[Any, Sequence[date], Due], list[Limit]]] = {
    "max_gap": _max_gap,
    "calendar": _calendar,
    "rolling": _rolling,
    "capped": _capped,
    "age_steps": _age_steps,
    "usage": _usage,
    "after_event": _after_event,
    "before_use": _before_use,
    "group_sample": _group_sample,
}
