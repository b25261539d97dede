"""Whether a sampled group keeps its share if members are tested on planned days."""

from collections.abc import Collection, Hashable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from fleet.calc.duedates import Event, Span
from fleet.calc.group_windows import holds, step_on, steps
from fleet.calc.groups import COUNTED_IN, Member, replay_group
from fleet.calc.histories import Service
from fleet.calc.intervals import GroupSample


class Shortfall(NamedTuple):
    """From a day on (until the day before another, None = to the last day looked at) the window
    holds fewer members than it must. next: the keys of as many as lack, longest untested first."""

    on: date
    until: date | None
    held: int
    needed: int
    size: int
    next: tuple[Hashable, ...]


def shortfalls(
    members: Sequence[Member],
    planned: Mapping[Hashable, Collection[date]],
    from_on: date,
    to_on: date,
) -> list[Shortfall]:
    """Every time in [from_on, to_on] at which the windows fall short, were these tests done.

    `members`: of one group, in their turn; `planned`: days by the member's key. A planned test
    counts for whatever is fitted that day; it is taken to be sound, as no failure can be planned.
    """
    if not members:
        return []
    shape = members[0].owed.shape
    if not isinstance(shape, GroupSample):
        raise TypeError(f"{shape.kind} does not sample a group")
    tested = [_with(member, planned.get(member.key, ())) for member in members]
    spans = replay_group(tested)
    found = steps(shape, (span for own in spans.values() for span in own))
    days = [from_on, *(step.on for step in found if from_on < step.on <= to_on)]
    answers = [(day, step_on(found, day)) for day in days]
    short: list[Shortfall] = []
    for place, (day, step) in enumerate(answers):
        if step.short:
            until = answers[place + 1][0] if place + 1 < len(answers) else None
            who = _next(shape, spans, day)[: step.short]
            short.append(Shortfall(day, until, step.held, step.needed, step.size, tuple(who)))
    return short


def _with(member: Member, days: Collection[date]) -> Member:
    """The member as if whatever is fitted there were tested on these days."""
    service = Service(spell for spell in member.spells if spell.position == member.position)
    fitted = [(day, spell.device) for day in sorted(days) if (spell := service.on(day))]
    tests = [
        Event(-number, device, None, member.owed.activity, day)
        for number, (day, device) in enumerate(fitted, 1)
    ]
    return member._replace(events=[*member.events, *tests])


def _next(
    shape: GroupSample, spans: Mapping[Hashable, Sequence[Span]], day: date
) -> list[Hashable]:
    """Those counted and not held by the window that day, the longest untested first."""
    now = [
        (key, span)
        for key, own in spans.items()
        for span in own
        if span.from_on <= day and (span.until_on is None or day < span.until_on)
    ]
    open_ = [(k, s) for k, s in now if s.state in COUNTED_IN and not holds(shape, s.last_on, day)]
    return [key for key, span in sorted(open_, key=lambda row: row[1].last_on or date.min)]
