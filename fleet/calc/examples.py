"""Worked examples of the rules: what was done, what else is known, and when it is due again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from fleet.calc.intervals import Due, Known, Reading, Shape, Trigger


@dataclass(frozen=True)
class Example:
    """One example as of `today`. `done` ascends; nothing in it is dated after today.

    answer: what the rule comes to, None where it gives no date by itself. members: only for the
    rule of a group, the tests of each member by its name; then `done` is empty.
    """

    today: date
    answer: Due | None
    done: tuple[date, ...] = ()
    in_service_on: date | None = None
    season: str = ""
    triggers: tuple[Trigger, ...] = ()
    readings: tuple[Reading, ...] = ()
    members: Mapping[str, tuple[date, ...]] = field(default_factory=dict, hash=False)

    @property
    def known(self) -> Known:
        """What the rule may ask beside the history."""
        return Known(self.today, self.in_service_on, self.season, self.readings, self.triggers)

    def due(self, shape: Shape) -> Due | None:
        """What a rule makes of it; None for a group, whose members are due by one another."""
        return None if self.members else shape.due(self.done, self.known)


def example_from(
    *,
    today: str,
    due: Mapping[str, str] | None,
    done: Sequence[str] = (),
    in_service_on: str | None = None,
    season: str = "",
    triggers: Sequence[Sequence[str]] = (),
    readings: Sequence[Sequence[str]] = (),
    members: Mapping[str, Sequence[str]] | None = None,
) -> Example:
    """An example from its JSON: dates as ISO text, triggers as [kind, date], readings as
    [counter, date, value]. Raises ValueError for a date or a number that is none."""
    return Example(
        date.fromisoformat(today),
        None if due is None else _answer(**due),
        _days(done),
        None if in_service_on is None else date.fromisoformat(in_service_on),
        season,
        tuple(Trigger(kind, date.fromisoformat(day)) for kind, day in triggers),
        tuple(Reading(name, date.fromisoformat(day), Fraction(n)) for name, day, n in readings),
        {member: _days(tests) for member, tests in (members or {}).items()},
    )


def _answer(due_on: str, limit: str, target_on: str | None = None) -> Due:
    target = None if target_on is None else date.fromisoformat(target_on)
    return Due(date.fromisoformat(due_on), target, limit)


def _days(texts: Sequence[str]) -> tuple[date, ...]:
    return tuple(date.fromisoformat(text) for text in texts)
