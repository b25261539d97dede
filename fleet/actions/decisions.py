"""Deciding an interval: checked against the rule, with what it would do seen before it is written.

A decision holds from its day on; days before it keep their answer.
"""

from dataclasses import dataclass
from datetime import date, datetime

from fleet import audit, clock, ledger, permissions, replays
from fleet.actions import obligations
from fleet.calc import duedates
from fleet.calc.clocks import DATED
from fleet.calc.durations import Duration, parse_duration
from fleet.calc.intervals import DECISION, RuleError
from fleet.calc.units import UnitsError
from fleet.faults import Fault, Refused
from fleet.models import IntervalDecision, Obligation, ObligationSpan, User

UNWRITTEN = 0  # the key of a decision that is only looked at


@dataclass(frozen=True)
class Outlook:
    """What holds on the day a decision takes effect, as it stands and as it would then be.

    must_act: the interval decided on is past by then, so the decision names a day to act by.
    act_by_until: that day may be no later; None where there is no due date to keep.
    """

    before: ObligationSpan | None
    after: duedates.Span | None
    must_act: bool
    act_by_until: date | None


@audit.writing()
def decide(decision: IntervalDecision, *, by: User, at: datetime) -> IntervalDecision:
    """Write one decision, unsaved and without stamps or signature, and replay its position.

    Raises Refused: faults name `interval`, `from_on`, `act_by`, `reason` or `decided_by`.
    """
    faults = why_undecided(decision, by=by, on=clock.day_of(at))
    if faults:
        raise Refused(faults)
    decision.decided_by = by
    obligations.decide([decision], by=by, at=at)
    ledger.replay_positions([decision.obligation.position_id], at=at)
    return decision


def why_undecided(decision: IntervalDecision, *, by: User, on: date) -> list[Fault]:
    """Everything that speaks against a decision written down on a day."""
    faults = []
    if not by.may(permissions.DECIDE_INTERVAL, decision.obligation.position.site_id):
        faults.append(Fault("decided_by", by.name, "an engineer of this site decides an interval"))
    faults += [*of_interval(decision), *_of_first_day(decision, on)]
    if not decision.reason.strip():
        faults.append(Fault("reason", "", "say why this interval"))
    return faults or of_act_by(decision)


def of_interval(decision: IntervalDecision) -> list[Fault]:
    """The interval can be read, and the rule lets a decision set it."""
    rule, typed = decision.obligation.rule, decision.interval
    try:
        rule.shape.check_interval(parse_duration(typed))
    except UnitsError as error:
        return [Fault("interval", typed, error.expected)]
    except RuleError as error:
        return [Fault("interval", typed, f"{error.expected} ({rule.citation})", code="ceiling")]
    return []


def _of_first_day(decision: IntervalDecision, on: date) -> list[Fault]:
    owed, from_on = decision.obligation, decision.from_on
    if from_on < on:
        words = f"today or a later day: a decision never changes days that are past ({on} is today)"
        return [Fault("from_on", str(from_on), words)]
    if not (owed.from_on or date.min) <= from_on < (owed.until_on or date.max):
        return [Fault("from_on", str(from_on), "a day on which it is owed")]
    if IntervalDecision.objects.filter(obligation=owed, from_on=from_on).exists():
        words = "another day: a decision on this interval takes effect on it already"
        return [Fault("from_on", str(from_on), words)]
    return []


def of_act_by(decision: IntervalDecision) -> list[Fault]:
    """A day to act by where the interval is past, and only there; it never gives leave."""
    seen, act_by, from_on = outlook(decision), decision.act_by, decision.from_on
    typed = str(act_by or "")
    if not seen.must_act:
        if act_by is None:
            return []
        return [Fault("act_by", typed, f"no day: {_why_no_day(seen, from_on)}")]
    until = seen.act_by_until
    if act_by is None:
        interval = parse_duration(decision.interval).words
        words = f"name a day to act by: {interval} after it was last done is past on {from_on}"
        limit = f"; no later than {until}, when it is due now" if until else ""
        return [Fault("act_by", "", f"{words}{limit}", code="act_by_missing")]
    if act_by < from_on:
        return [Fault("act_by", typed, f"no day before the decision holds, {from_on}")]
    if until is not None and act_by > until:
        words = f"no later than {until}, when it is due now: only a deferral gives leave to pass it"
        return [Fault("act_by", typed, words)]
    return []


def _why_no_day(seen: Outlook, from_on: date) -> str:
    after = seen.after
    if after is None or after.state != DATED or after.due_on is None:
        return "nothing is running on which it could be due"
    if after.due_on < from_on:
        return "its due date is past already, and only a deferral gives leave to pass that"
    return f"the interval is not past by then, and it is due on {after.due_on}"


def outlook(decision: IntervalDecision) -> Outlook:
    """What it would be due, and whether the decision has to name a day to act by.

    `decision`: unsaved, with obligation, interval and from_on. Nothing is written.
    """
    owed, from_on = decision.obligation, decision.from_on
    before = ObligationSpan.objects.known().on(from_on).filter(obligation=owed).first()
    bare = _on(from_on, _replayed(decision, None))
    is_past = bare is not None and bare.limit == DECISION and _is_due_before(bare.due_on, from_on)
    due_now = before.due_on if before else None
    must_act = is_past and (due_now is None or due_now >= from_on)
    after = _on(from_on, _replayed(decision, decision.act_by)) if must_act else bare
    return Outlook(before, after, must_act, due_now if must_act else None)


def _is_due_before(due_on: date | None, day: date) -> bool:
    return due_on is not None and due_on < day


def _replayed(decision: IntervalDecision, act_by: date | None) -> list[duedates.Span]:
    interval = parse_duration(decision.interval)
    row = duedates.Decision(UNWRITTEN, decision.from_on, interval, act_by)
    return replays.preview(decision.obligation, row)


def _on(day: date, spans: list[duedates.Span]) -> duedates.Span | None:
    held = (s for s in spans if s.from_on <= day and (s.until_on is None or day < s.until_on))
    return next(held, None)


def interval_in_force(owed: Obligation, on: date) -> Duration | None:
    """What the decision in force that day says, else the rule; None where neither has one."""
    rows = IntervalDecision.objects.filter(obligation=owed, from_on__lte=on)
    decided = rows.order_by("from_on").last()
    return parse_duration(decided.interval) if decided else owed.rule.shape.interval


def takes_decision(owed: Obligation) -> bool:
    """Has its rule an interval that a decision may set? To shorten one is always allowed."""
    try:
        owed.rule.shape.check_interval(parse_duration("P1D"))
    except RuleError:
        return False
    return True
