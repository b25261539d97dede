"""Replay: from dated facts to spans with their due date.

Pure: the same facts in any order give the same spans, and no span depends on a fact dated after
it, so that "as of D" needs nothing but the span that holds on D.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from fleet.calc.clocks import Answer, Clock
from fleet.calc.facts import Decision, Event, Found, Idle, Owed, Place, Spell, Standing
from fleet.calc.intervals import Reading, Trigger

__all__ = [
    "Decision",
    "Event",
    "Found",
    "Idle",
    "Owed",
    "Place",
    "Reading",
    "Span",
    "Spell",
    "Standing",
    "Trigger",
    "replay",
    "spans_of",
]


NOWHERE = Place()


class Span(NamedTuple):
    """An answer that holds over [from_on, until_on); None = it still holds.

    state: dated, no_device, no_record, interval_not_set, waiting or not_required; only a dated one
    is due.
    last_on: the day it counts from. event: what was done for it (None: a fitting, or the
    commissioning). decision: the one in force. limit: the one that binds. device: what is fitted.
    A no_record with limit `shelf` had a test, `event` on `last_on`, too long before it was fitted.
    """

    from_on: date
    until_on: date | None
    state: str
    due_on: date | None
    target_on: date | None
    last_on: date | None
    event: int | None
    decision: int | None
    limit: str
    device: int | None


def replay(
    owed: Owed,
    position: int,
    spells: Sequence[Spell],
    events: Sequence[Event],
    decisions: Sequence[Decision],
    standings: Sequence[Standing],
    place: Place = NOWHERE,
) -> list[Span]:
    """Spans that cover [owed.from_on or the first day, owed.until_on), contiguous and merged.

    `spells`: all of this position and all of every device ever fitted in it. `events`: all that
    were recorded of those devices and of this position; others are ignored.

    On any day the first of these that applies: not_required; no_device when nothing is fitted;
    waiting when nothing has called for it; no_record when nothing has counted; interval_not_set
    when the rule waits for a decision or lacks a fact; dated.

    Not for a sampled group, whose members owe for each other: `groups.replay_group`.
    """
    clock = Clock(owed, position, spells, events, decisions, standings, place)
    start, end = bounds(owed)
    days = sorted({start} | {day for day in clock.changes() if start < day < end})
    return spans_of(owed, [(day, clock.answer(day)) for day in days if day < end])


def bounds(owed: Owed) -> tuple[date, date]:
    """The days [start, end) over which it is owed."""
    return owed.from_on or date.min, owed.until_on or date.max


def spans_of(owed: Owed, answers: Iterable[tuple[date, Answer]]) -> list[Span]:
    """Spans from answers, each given on the day it begins to hold, ascending."""
    kept: list[tuple[date, Answer]] = []
    for day, answer in answers:
        if not kept or kept[-1][1] != answer:
            kept.append((day, answer))
    ends = [*(day for day, _ in kept[1:]), owed.until_on][: len(kept)]
    return [Span(day, until, *answer) for (day, answer), until in zip(kept, ends, strict=True)]
