"""What a rule makes of some past days: the date, the limit that binds, the sentence, the drawing.

For the worked examples of the library and for what somebody tries. Due dates come from the shape
alone, those of a group from its replay.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fleet.calc.duedates import Event, Owed, Spell
from fleet.calc.durations import Duration
from fleet.calc.examples import Example
from fleet.calc.facts import DONE_ON, Found, Place
from fleet.calc.groups import Member, replay_group
from fleet.calc.intervals import (
    EXPANSION,
    SAMPLE,
    TRIGGER_KINDS,
    WHOLE_GROUP,
    Due,
    GroupSample,
    Shape,
)
from fleet.calc.limits import TARGET, Limit, limits_of, windows_of
from fleet.drawings.axis import day_words
from fleet.drawings.scene import Scene
from fleet.drawings.worked_example import Lane, Moment, Worked, worked_example
from fleet.drawings.worked_group import MemberLine, WorkedGroup, worked_group
from fleet.reports.reasons import with_day_words

TESTED = "bench_test"
OUTSIDE = Found(None, False, "high")  # a failure, whatever the pressure was
NO_FAILURES: Mapping[str, tuple[date, ...]] = {}
LIMIT_WORDS = {
    "gap": "the interval",
    "calendar": "the calendar",
    "window": "the number in any window",
    "cap": "the cap",
    "age": "the interval of its age",
    "count": "the count, reached",
    "projected": "the count, projected from the readings",
    "trigger": "what happened",
    "season": "the season of use",
    "sample": "the share of the group",
    "expansion": "a failure in the group",
    "whole_group": "a failure among those called in",
}


@dataclass(frozen=True)
class MemberAnswer:
    """One member of a group: when it was last tested, when it is due and why."""

    name: str
    done: tuple[date, ...]
    due: Due | None
    reason: str

    @property
    def is_called(self) -> bool:
        """Due by the group, sooner than by its own interval."""
        return self.due is not None and self.due.limit in (SAMPLE, EXPANSION, WHOLE_GROUP)


@dataclass(frozen=True)
class Answer:
    """What the rule comes to. limits: (words, from, to, whether it binds), for readers of text."""

    due: Due | None
    reason: str
    limits: tuple[Lane, ...]
    moments: tuple[Moment, ...]
    scene: Scene | None
    members: tuple[MemberAnswer, ...] = ()
    needed: str = ""

    @property
    def limit_words(self) -> str:
        return LIMIT_WORDS.get(self.due.limit, self.due.limit) if self.due else ""


Failed = Mapping[str, tuple[date, ...]]  # of each member of a group, which tests failed


def answer_of(
    shape: Shape, facts: Example, source: str = "", failed: Failed = NO_FAILURES
) -> Answer:
    """`source` says whose rule it is, in the reason."""
    if isinstance(shape, GroupSample):
        return _of_group(shape, facts, source, failed)
    due, moments = facts.due(shape), _moments(shape, facts)
    lanes = _lanes(shape, facts, due)
    reason = _reason(shape, due, facts.done, source)
    worked = Worked(
        label=_label(facts, moments, lanes, reason),
        done=facts.done,
        due_on=due and due.due_on,
        target_on=due and due.target_on,
        counted_from=due and due.counted_from,
        lanes=lanes,
        bands=_bands(shape, facts),
        moments=moments,
        as_of=facts.today,
    )
    has_days = bool(facts.done or moments)
    return Answer(due, reason, lanes, moments, worked_example(worked) if has_days else None)


def _reason(shape: Shape, due: Due | None, done: tuple[date, ...], source: str) -> str:
    if due is None:
        return shape.undated()
    counted_from = due.counted_from or done[-1]
    return with_day_words(shape.reason(due, counted_from, source))


def _lanes(shape: Shape, facts: Example, due: Due | None) -> tuple[Lane, ...]:
    if due is None:
        return ()
    limits = limits_of(shape, facts.done, facts.known)
    spans = {(limit.from_on, limit.on) for limit in limits}
    windows = [  # those that no limit measures off already
        Lane(window.from_on, window.to_on, window.words, is_window=True)
        for window in windows_of(shape, facts.done, facts.known)
        if (window.from_on, window.to_on) not in spans
    ]
    return (
        *windows,
        *(_span(limit, due) for limit in limits),
    )


def _span(limit: Limit, due: Due) -> Lane:
    binds = limit.code != TARGET and (limit.code, limit.on) == (due.limit, due.due_on)
    return Lane(limit.from_on, limit.on, limit.words, binds)


def _bands(shape: Shape, facts: Example) -> tuple[tuple[date, date], ...]:
    windows = windows_of(shape, facts.done, facts.known)
    return tuple((window.from_on, window.to_on) for window in windows)


def _moments(shape: Shape, facts: Example) -> tuple[Moment, ...]:
    found = []
    if facts.in_service_on:
        found.append(Moment(facts.in_service_on, f"in service {day_words(facts.in_service_on)}"))
    for trigger in facts.triggers:
        kind = TRIGGER_KINDS.get(trigger.kind, trigger.kind)
        found.append(Moment(trigger.happened_on, f"{kind} {day_words(trigger.happened_on)}"))
    for reading in facts.readings:
        words = f"{number_words(reading.value)} on {day_words(reading.read_on)}"
        found.append(Moment(reading.read_on, words))
    return tuple(sorted(found))


def number_words(value) -> str:
    """A counter's figure: whole, or with its decimals."""
    return str(value) if value.denominator == 1 else f"{float(value):g}"


def _label(
    facts: Example, moments: tuple[Moment, ...], lanes: tuple[Lane, ...], reason: str
) -> str:
    parts = [f"done {', '.join(map(day_words, facts.done))}" if facts.done else "never done"]
    parts += [moment.words for moment in moments]
    parts += [f"{lane.words}, to {day_words(lane.to_on)}" for lane in lanes]
    return "; ".join([*parts, reason])


def _of_group(shape: GroupSample, facts: Example, source: str, failed: Failed) -> Answer:
    members = _members(shape, facts, source, failed)
    tested = _tested_since(facts, shape.window)
    needed = (
        f"{tested} of {len(members)} tested in the {shape.window.words}"
        f" to {day_words(facts.today)}; at least {shape.needed(len(members))} needed"
    )
    first = shape.window.before(facts.today)
    window = f"{shape.window.words}: {tested} of {len(members)} tested"
    rows = tuple(
        MemberLine(
            row.name, row.done, row.due and row.due.due_on, row.is_called, failed.get(row.name, ())
        )
        for row in members
    )
    said = "; ".join(f"{row.name} {_due_words(row)}" for row in members)
    group = WorkedGroup(f"{needed}; {said}", rows, (first, facts.today, window), facts.today)
    soonest = min((row.due for row in members if row.due), key=lambda due: due.due_on, default=None)
    return Answer(soonest, "", (), (), worked_group(group), members, needed)


def _due_words(row: MemberAnswer) -> str:
    return f"due {day_words(row.due.due_on)}" if row.due else row.reason


def _tested_since(facts: Example, window: Duration) -> int:
    """How many members hold a test that still counts in the window to this day."""
    return sum(
        any(window.after(day) > facts.today >= day for day in done)
        for done in facts.members.values()
    )


def _members(
    shape: GroupSample, facts: Example, source: str, failed: Failed
) -> tuple[MemberAnswer, ...]:
    owed = Owed(TESTED, shape, DONE_ON, None, None, None, None)
    members = []
    for number, (name, done) in enumerate(facts.members.items(), 1):
        spell = Spell(number, number, date.min, None)
        bad = failed.get(name, ())
        events = [
            Event(number * 1000 + n, number, None, TESTED, day, OUTSIDE if day in bad else None)
            for n, day in enumerate(done)
        ]
        members.append(Member(name, owed, number, [spell], events, [], [], Place()))
    spans = replay_group(members)
    return tuple(_member(shape, name, spans[name], facts, source) for name in facts.members)


def _member(shape: GroupSample, name: str, spans, facts: Example, source: str) -> MemberAnswer:
    day, done = facts.today, facts.members[name]
    span = next(s for s in spans if s.from_on <= day and (s.until_on is None or day < s.until_on))
    if span.due_on is None:
        return MemberAnswer(name, done, None, "never tested: it owes one at once")
    due = Due(span.due_on, span.target_on, span.limit)
    reason = with_day_words(shape.reason(due, span.last_on, source))
    return MemberAnswer(name, done, due, reason)
