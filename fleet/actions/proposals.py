"""Proposals: raised by what was found or what changed, and answered by a named engineer.

Nothing follows from one by itself. Accepted, it becomes an interval decision; declined, it keeps
the reason; withdrawn, its cause was a record that a correction took back.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from fleet import audit, ledger, permissions
from fleet.actions import obligations
from fleet.calc.durations import Duration
from fleet.calc.intervals import RuleError
from fleet.calc.units import UnitsError, parse_duration
from fleet.faults import Fault, Refused
from fleet.models import IntervalDecision, Obligation, Proposal, User

BATCH = 1000
Cause = tuple[int, str, str]
MUST_SHORTEN = (Proposal.Kind.WAIVED_TEST,)  # API RP 576 6.2.9: fouled, waived, then shortened


@audit.writing()
def raise_proposals(rows: Sequence[Proposal], *, by: User, at: datetime) -> list[Proposal]:
    """Write proposals, unsaved and without stamps; a cause proposed before is left out.

    Returns those written.
    """
    known, fresh = _proposed(rows), []
    for row in rows:
        if _cause(row) not in known:
            known.add(_cause(row))
            row.recorded_by, row.recorded_at = by, at
            fresh.append(row)
    Proposal.objects.bulk_create(fresh, batch_size=BATCH)
    audit.record((audit.change("proposal raised", row) for row in fresh), by=by, at=at)
    return fresh


def _cause(row: Proposal) -> Cause:
    return (row.position_id, row.kind, row.source)


def _proposed(rows: Iterable[Proposal]) -> set[Cause]:
    """Every cause proposed before at the positions of these, whatever became of it."""
    places = sorted({row.position_id for row in rows})
    found: set[Cause] = set()
    for start in range(0, len(places), BATCH):
        known = Proposal.objects.filter(position__in=places[start : start + BATCH])
        found.update(_cause(row) for row in known)
    return found


@audit.writing()
def accept(
    proposal: Proposal, decision: IntervalDecision, *, by: User, at: datetime
) -> IntervalDecision:
    """Decide the interval of one thing owed at the position, and close the proposal with it.

    `decision`: unsaved, with obligation, interval, from_on, act_by and reason; `by` decides it.
    Raises Refused: faults name `answer`, `obligation`, `interval`, `from_on`, `act_by`, `reason`.
    """
    stored = _stored(proposal)
    if faults := why_not_accepted(stored, decision, by):
        raise Refused(faults)
    decision.reason, decision.decided_by = decision.reason.strip(), by
    obligations.decide([decision], by=by, at=at)
    _close([stored], Proposal.Answer.ACCEPTED, decision.reason, by, at, decision)
    ledger.replay_positions([stored.position_id], at=at)
    return decision


@audit.writing()
def decline(proposal: Proposal, words: str, *, by: User, at: datetime) -> None:
    """Leave the interval as it is, for a reason. Raises Refused: `answer`, `reason`."""
    stored = _stored(proposal)
    faults = _why_unanswerable(stored, by)
    if not words.strip():
        faults.append(Fault("reason", words, "why the interval stays as it is"))
    if faults:
        raise Refused(faults)
    _close([stored], Proposal.Answer.DECLINED, words.strip(), by, at)


@audit.writing()
def withdraw(rows: Sequence[Proposal], words: str, *, by: User, at: datetime) -> None:
    """Take back proposals whose cause is gone; those answered by then stay as they are."""
    still_open = Proposal.objects.filter(pk__in=[row.pk for row in rows], answered_on=None)
    _close(list(still_open), Proposal.Answer.WITHDRAWN, words, by, at)


def why_not_accepted(proposal: Proposal, decision: IntervalDecision, by: User) -> list[Fault]:
    """Every reason why this person cannot accept it with this decision."""
    return _why_unanswerable(proposal, by) or _why_undecided(proposal, decision)


def _close(
    rows: Sequence[Proposal],
    answer: str,
    words: str,
    by: User,
    at: datetime,
    decision: IntervalDecision | None = None,
) -> None:
    for row in rows:
        row.answer, row.answer_words, row.decision = answer, words, decision
        row.answered_on, row.answered_at, row.answered_by = at.date(), at, by
        row.save()
    audit.record((audit.change(f"proposal {answer}", row) for row in rows), by=by, at=at)


def _stored(proposal: Proposal) -> Proposal:
    return Proposal.objects.select_related("position").get(pk=proposal.pk)


def _why_unanswerable(stored: Proposal, by: User) -> list[Fault]:
    faults = []
    if stored.answered_on is not None:
        words = f"{stored.answered_by} {stored.answer} it on {stored.answered_on}"
        faults.append(Fault("answer", "", words))
    if not by.may(permissions.ANSWER_PROPOSAL, stored.position.site_id):
        faults.append(Fault("answer", by.name, "an engineer of the site answers a proposal"))
    return faults


def _why_undecided(stored: Proposal, decision: IntervalDecision) -> list[Fault]:
    """Every reason why this is not an answer to the proposal."""
    owed, on = decision.obligation, decision.from_on
    if not takes_decision(owed):
        words = "takes no interval from a decision; choose another, or decline and say why"
        return [Fault("obligation", str(owed), words)]
    faults = []
    if owed.position_id != stored.position_id:
        faults.append(Fault("obligation", str(owed), f"something owed at {stored.position}"))
    if not (owed.from_on or date.min) <= on < (owed.until_on or date.max):
        faults.append(Fault("from_on", str(on), "a day on which it is owed"))
    if IntervalDecision.objects.filter(obligation=owed, from_on=on).exists():
        words = "another day: a decision on this interval takes effect then already"
        faults.append(Fault("from_on", str(on), words))
    if decision.act_by is not None and decision.act_by < on:
        words = f"no day before the decision holds, {on}"
        faults.append(Fault("act_by", str(decision.act_by), words))
    if not decision.reason.strip():
        faults.append(Fault("reason", "", "why this interval"))
    return faults + _of_interval(stored, decision)


def _of_interval(stored: Proposal, decision: IntervalDecision) -> list[Fault]:
    """The interval itself: readable, allowed by the rule and, where it must be, shorter."""
    shape, typed = decision.obligation.rule.shape, decision.interval
    try:
        interval = parse_duration(typed)
        shape.check_interval(interval)
    except (UnitsError, RuleError) as error:
        return [Fault("interval", typed, error.expected)]
    if stored.kind not in MUST_SHORTEN:
        return []
    present = interval_in_force(decision.obligation, decision.from_on)
    if present is not None and (interval == present or interval.exceeds(present)):
        words = f"less than {present.words}, now in force: after a waived test it is shortened"
        return [Fault("interval", typed, f"{words} (API RP 576 6.2.9)")]
    return []


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
