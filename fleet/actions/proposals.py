"""Proposals: raised by what was found or what changed, and answered by a named engineer.

Nothing follows from one by itself. Accepted, it becomes an interval decision; declined, it keeps
the reason; withdrawn, its cause was a record that a correction took back.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from fleet import audit, clock, permissions
from fleet.actions import decisions
from fleet.calc.units import parse_duration
from fleet.faults import Fault, Refused
from fleet.models import IntervalDecision, Proposal, User

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
    Raises Refused: faults name `answer`, `obligation`, or what `decisions.decide` names.
    """
    stored = _stored(proposal)
    if faults := why_not_accepted(stored, decision, by=by, on=clock.day_of(at)):
        raise Refused(faults)
    decision.reason = decision.reason.strip()
    decisions.decide(decision, by=by, at=at)
    _close([stored], Proposal.Answer.ACCEPTED, decision.reason, by, at, decision)
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


def why_not_accepted(
    proposal: Proposal, decision: IntervalDecision, *, by: User, on: date
) -> list[Fault]:
    """Every reason why this person cannot accept it with this decision on a day."""
    faults = _why_unanswerable(proposal, by) or _why_no_answer(proposal, decision)
    return faults or decisions.why_undecided(decision, by=by, on=on)


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
        row.answered_on, row.answered_at, row.answered_by = clock.day_of(at), at, by
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


def _why_no_answer(stored: Proposal, decision: IntervalDecision) -> list[Fault]:
    """Why a decision, sound as it may be, is no answer to the proposal."""
    owed, typed = decision.obligation, decision.interval
    if owed.position_id != stored.position_id:
        return [Fault("obligation", str(owed), f"something owed at {stored.position}")]
    if not decisions.takes_decision(owed):
        words = "takes no interval from a decision; choose another, or decline and say why"
        return [Fault("obligation", str(owed), words)]
    present = decisions.interval_in_force(owed, decision.from_on)
    if stored.kind not in MUST_SHORTEN or present is None or decisions.of_interval(decision):
        return []
    interval = parse_duration(typed)
    if interval == present or interval.exceeds(present):
        words = f"less than {present.words}, now in force: after a waived test it is shortened"
        return [Fault("interval", typed, f"{words} (API RP 576 6.2.9)")]
    return []
