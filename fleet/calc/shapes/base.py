"""What every interval rule answers, what it may ask, and what it has in common with the others."""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any, ClassVar, NamedTuple, Self

from fleet.calc.durations import Duration
from fleet.calc.parameters import RuleError, choice, interval

# The limit that binds: an interval, the calendar, a decision, the day a decision says to act by,
# so many in any window, a cap past the target, the age, a counter that has reached its number or
# is projected to, what happened, a season's start, a return to service, and in a group its share,
# a failure, and a failure among those that the failure called for.
GAP, CALENDAR, DECISION, ACT_BY = "gap", "calendar", "decision", "act_by"
WINDOW, CAP, AGE = "window", "cap", "age"
COUNT, PROJECTED, TRIGGER = "count", "projected", "trigger"
SEASON, RETURN = "season", "return"
SAMPLE, EXPANSION, WHOLE_GROUP = "sample", "expansion", "whole_group"

STOP, RUN, TEST_BEFORE_RETURN = "stop", "run", "test_before_return"
OUT_OF_SERVICE = {
    STOP: "nothing is owed while it is out of service, and its date does not move",
    RUN: "owed out of service as in service",
    TEST_BEFORE_RETURN: "nothing is owed while it is out of service; to be done before its return",
}
NOTHING_LONG = Duration(0, 0, "P0D")


@dataclass(frozen=True)
class Due:
    """When it is due, the target before it where the rule has one, and which limit binds.

    counted_from: the day it counts from, only where that is not the history's last day.
    """

    due_on: date
    target_on: date | None
    limit: str
    counted_from: date | None = None


class Reading(NamedTuple):
    """What a counter of use stood at on a day."""

    counter: str
    read_on: date
    value: Fraction


class Trigger(NamedTuple):
    """Something that happened and calls for work."""

    kind: str
    happened_on: date


class Known(NamedTuple):
    """What a rule may ask beside the history, as of `day`.

    season: the first day of the season of use, MM-DD, "" where none is given. Readings and
    triggers come ascending by date, none after `day`.
    """

    day: date = date.max
    in_service_on: date | None = None
    season: str = ""
    readings: Sequence[Reading] = ()
    triggers: Sequence[Trigger] = ()


NOTHING = Known()


@dataclass(frozen=True, kw_only=True)
class Shape(ABC):
    """One way in which a rule turns history into a date.

    out_of_service: what days out of service do to the clock. ceiling: the longest interval that a
    decision may set, where that is longer than the rule's own.
    """

    kind: ClassVar[str]
    needs_history: ClassVar[bool] = True  # False: it can answer before anything was done
    decides: ClassVar[str] = "gap"  # the parameter that a decision replaces, "" for none
    may_lengthen: ClassVar[bool] = True  # whether a ceiling means anything to it

    out_of_service: str = STOP
    ceiling: Duration | None = None

    @classmethod
    def from_parameters(cls, parameters: Mapping[str, Any]) -> Self:
        """Read stored parameters. Raises RuleError for anything missing, unknown or wrong."""
        common = {name: parameters[name] for name in _COMMON if name in parameters}
        own = {name: value for name, value in parameters.items() if name not in _COMMON}
        return cls._read(own)._with_common(common)

    @classmethod
    @abstractmethod
    def _read(cls, parameters: Mapping[str, Any]) -> Self:
        """The shape from its own parameters alone. Raises RuleError."""

    def _with_common(self, parameters: Mapping[str, Any]) -> Self:
        shape = self
        if "out_of_service" in parameters:
            how = choice(parameters, "out_of_service", OUT_OF_SERVICE)
            shape = replace(shape, out_of_service=how)
        if "ceiling" in parameters:
            shape = replace(shape, ceiling=self._ceiling(parameters))
        return shape

    def _ceiling(self, parameters: Mapping[str, Any]) -> Duration:
        if not self.may_lengthen:
            raise RuleError(
                "ceiling", parameters["ceiling"], f"none: no decision may lengthen {self.kind}"
            )
        ceiling, own = interval(parameters, "ceiling"), self.interval
        if own is not None and own.exceeds(ceiling):
            raise RuleError("ceiling", ceiling.text, f"no less than the rule's own {own.words}")
        return ceiling

    def parameters(self) -> dict[str, Any]:
        """What `from_parameters` reads back into this shape, ready for JSON."""
        common = {} if self.out_of_service == STOP else {"out_of_service": self.out_of_service}
        ceiling = {"ceiling": self.ceiling.text} if self.ceiling else {}
        return {**self._own(), **common, **ceiling}

    @abstractmethod
    def _own(self) -> dict[str, Any]:
        """Its own parameters alone."""

    @abstractmethod
    def due(self, history: Sequence[date], known: Known = NOTHING) -> Due | None:
        """When it is due after these days, ascending; the last one counts.

        There is at least one unless the shape needs no history. None when no date can be given.
        """

    def undated(self) -> str:
        """Why no date can be given, where `due` answers none."""
        return "the rule gives no date"

    @property
    def interval(self) -> Duration | None:
        """The interval that a decision would replace."""
        return getattr(self, self.decides) if self.decides else None

    def check_interval(self, interval: Duration) -> None:
        """Raises RuleError where no decision may set this interval: shortening always may."""
        longest = self.ceiling or self.interval
        if longest is None:
            raise RuleError("interval", interval.text, f"no decision: the rule is {self.words()}")
        check_no_longer(interval, longest, "the ceiling" if self.ceiling else "the rule's own")

    def with_interval(self, interval: Duration) -> "Shape":
        """The rule with its interval replaced by a decision; its other limits stay.

        A rule without an interval stays as it is. Nothing is checked here.
        """
        changes: dict[str, Any] = {self.decides: interval} if self.decides else {}
        return replace(self, **changes)

    @abstractmethod
    def words(self) -> str:
        """The rule in words."""

    def conditions(self) -> list[str]:
        """What else the rule says, in words: days out of service, how far a decision may go."""
        ceiling = self.ceiling and f"a decision may lengthen it to {self.ceiling.words}"
        return [OUT_OF_SERVICE[self.out_of_service], *([ceiling] if ceiling else [])]

    def reason(self, due: Due, last: date, source: str) -> str:
        """Why it is due then. `source` says whose rule or decision it is.

        `last` is the day it counts from. Ask the shape that gave the date: under a decision, the
        one with its interval.
        """
        because = {ACT_BY: _act_by, RETURN: _before_return}.get(due.limit, self._because)(due, last)
        return f"{because} ({source})" if source else because

    def _because(self, due: Due, last: date) -> str:
        return f"{self.words()}, counted from {last}"


_COMMON = ("out_of_service", "ceiling")


def check_no_longer(interval: Duration, longest: Duration, whose: str) -> None:
    """Raises RuleError for an interval of nothing, or longer on some day than another."""
    if interval == NOTHING_LONG:
        raise RuleError("interval", interval.text, "an interval longer than nothing")
    if interval.exceeds(longest):
        raise RuleError("interval", interval.text, f"no longer than {whose} {longest.words}")


def _act_by(due: Due, last: date) -> str:
    return (
        f"act by {due.due_on}, because the interval decided on was already past,"
        f" counted from {last}"
    )


def _before_return(due: Due, last: date) -> str:
    return f"before its return to service on {due.due_on}, last done {last}"
