"""What an interval decision would change, said before it is written."""

from dataclasses import dataclass, replace
from datetime import date

from fleet.actions.decisions import Outlook, outlook
from fleet.calc import duedates
from fleet.calc.durations import parse_duration
from fleet.calc.intervals import Due
from fleet.models import IntervalDecision, SpanState, User
from fleet.reports.due_ask import Seen, status_of
from fleet.reports.reasons import dated


@dataclass(frozen=True)
class Said:
    """One answer as a list would show it on the day the decision takes effect."""

    status: str
    due_on: date | None
    last_on: date | None
    reason: str


@dataclass(frozen=True)
class Prospect:
    """As it stands and as it would be. token: what was shown, to be handed back when decided."""

    before: Said | None
    after: Said | None
    outlook: Outlook

    @property
    def token(self) -> str:
        after = self.after
        return f"{after.status} {after.due_on} {after.last_on}" if after else "none"


def prospect(decision: IntervalDecision, *, by: User, seen: Seen) -> Prospect:
    """`decision`: unsaved, readable, with obligation and from_on. Nothing is written."""
    then = replace(seen, as_of=decision.from_on)
    found = outlook(decision)
    before = found.before and Said(
        status_of(found.before.state, found.before.due_on, None, then),
        found.before.due_on,
        found.before.last_on,
        dated(found.before) if found.before.state == SpanState.DATED else "",
    )
    after = found.after and Said(
        status_of(found.after.state, found.after.due_on, None, then),
        found.after.due_on,
        found.after.last_on,
        _because(decision, found.after, by),
    )
    return Prospect(before or None, after or None, found)


def _because(decision: IntervalDecision, span: duedates.Span, by: User) -> str:
    if span.due_on is None or span.last_on is None:
        return ""
    shape = decision.obligation.rule.shape.with_interval(parse_duration(decision.interval))
    source = f"interval decided by {by} from {decision.from_on}"
    return shape.reason(Due(span.due_on, span.target_on, span.limit), span.last_on, source)
