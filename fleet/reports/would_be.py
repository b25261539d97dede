"""What a due date would be, were an interval decided so; nothing is written."""

from dataclasses import dataclass
from datetime import date

from fleet.calc import duedates
from fleet.calc.units import parse_duration
from fleet.models import IntervalDecision, SpanState
from fleet.replay_facts import load_facts
from fleet.replays import member_of


@dataclass(frozen=True)
class WouldBe:
    """The answer on the day a decision takes effect. due_on None: no date, as `state` says."""

    on: date
    state: str
    due_on: date | None

    @property
    def is_overdue(self) -> bool:
        """It would be overdue the day it takes effect: nobody could have met it."""
        return self.due_on is not None and self.due_on < self.on


def would_be(decision: IntervalDecision) -> WouldBe:
    """`decision`: unsaved, with obligation, interval, from_on and act_by. Raises UnitsError for
    an interval that cannot be read.

    In a sampled group this is the member's own date; the group may ask for it sooner.
    """
    owed, on = decision.obligation, decision.from_on
    member = member_of(owed, owed.position, load_facts([owed.position_id], [owed.pk]))
    decided = duedates.Decision(0, on, parse_duration(decision.interval), decision.act_by)
    others = [other for other in member.decisions if other.from_on != on]
    decisions = sorted([*others, decided], key=lambda other: other.from_on)
    spans = duedates.replay(*member._replace(decisions=decisions)[1:])
    span = next(span for span in spans if span.until_on is None or span.until_on > on)
    dated = span.due_on if span.state == SpanState.DATED else None
    return WouldBe(on, span.state, dated)
