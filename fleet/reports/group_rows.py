"""What is said of a sampled group, row by row: members, failures, who is away."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from fleet.calc.duedates import Found
from fleet.calc.groups import Pulled
from fleet.drawings.group_lanes import DrawnTest
from fleet.drawings.words import percent_words
from fleet.reports.due import DueRow

SORTS = ("order", "tag", "last_on", "due_on")
COLUMNS = (
    "order",
    "site",
    "unit",
    "tag",
    "device",
    "serial",
    "activity",
    "rule",
    "group",
    "last_done_on",
    "counts_from",
    "in_window",
    "as_found_percent",
    "as_found",
    "own_limit_on",
    "due_on",
    "binds",
    "called_in_on",
    "status",
    "deferred_until",
    "reason",
)
BINDS = {
    "gap": "own interval",
    "decision": "the interval decided",
    "act_by": "the day to act by",
    "return": "return to service",
    "sample": "the group's share",
    "expansion": "a failure in the group",
    "whole_group": "a failure among those called in",
}


def found_words(found: Found | None) -> str:
    """`+5.10 %, high`; what was not recorded is said so."""
    words = verdict_words(found)
    if found is None or found.percent is None:
        return words
    percent = percent_words(found.percent, 2)
    return f"{words} at {percent}" if found.is_bound else f"{percent}, {words}"


def verdict_words(found: Found | None) -> str:
    """`high`, `in tolerance`, `no lift`, `not recorded`, without the figure."""
    if found is None:
        return "not recorded"
    if found.is_bound:
        return "no lift"
    return {"in": "in tolerance", "": "not judged"}.get(found.verdict, found.verdict)


@dataclass(frozen=True)
class MemberRow:
    """One member; `order`: its turn, longest untested first, None while it is not counted."""

    order: int | None
    due: DueRow
    in_window: bool
    is_done: bool
    found: Found | None
    own_due_on: date | None
    limit: str
    called: Pulled | None
    tests: tuple[DrawnTest, ...]

    @property
    def as_found(self) -> str:
        """What the test that counts found; nothing where none was done."""
        return found_words(self.found) if self.is_done else ""

    @property
    def binds(self) -> str:
        return BINDS.get(self.limit, self.limit.replace("_", " "))

    def as_dict(self) -> dict[str, Any]:
        said = self.due.as_dict()
        return {name: said[name] for name in COLUMNS if name in said} | {
            "order": self.order,
            "group": self.due.sampled,
            "counts_from": self.due.counted_from,
            "in_window": "yes" if self.in_window else "no",
            "as_found_percent": self.found and exact(self.found.percent),
            "as_found": verdict_words(self.found) if self.is_done else "",
            "own_limit_on": self.own_due_on,
            "binds": self.binds,
            "called_in_on": self.called.on if self.called else None,
        }


def exact(value: Fraction | None) -> Decimal | None:
    """As a decimal; those recorded have four places."""
    return None if value is None else Decimal(value.numerator) / Decimal(value.denominator)


class Called(NamedTuple):
    """One that a failure called in: since when answered by a test, or no longer in the group."""

    position: int
    tag: str
    answered_on: date | None
    is_gone: bool

    @property
    def is_open(self) -> bool:
        return self.answered_on is None and not self.is_gone


@dataclass(frozen=True)
class CallRow:
    """A failure, and whom it called in. limit: `expansion` or `whole_group`."""

    on: date
    position: int
    tag: str
    device: str
    found: str
    limit: str
    called: tuple[Called, ...]

    @property
    def open(self) -> int:
        return sum(one.is_open for one in self.called)


class Away(NamedTuple):
    """A position that was in the group, or will be. now: what it owes instead, where listed."""

    position: int
    tag: str
    from_on: date | None
    until_on: date | None
    now: str
