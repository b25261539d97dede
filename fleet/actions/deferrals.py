"""Leave to pass a due date: asked for by one person, approved or refused by another.

A deferral never moves the due date. What breaks its policy is refused in the rule's own words.
"""

from datetime import date, datetime

from fleet import audit, clock, ledger, permissions
from fleet.actions import obligations
from fleet.actions.leave import Record, leave_of, records_of
from fleet.faults import Fault, Refused
from fleet.models import Deferral, DeferralRequest, User

COPIED = ("obligation_id", "due_on", "until_on", "policy", "reason", "interim_measure", "document",
          "notified_on")  # fmt: skip


@audit.writing()
def request(wanted: DeferralRequest, *, by: User, at: datetime) -> DeferralRequest:
    """Ask for leave: `wanted` is unsaved and without stamps; `by` is who asks.

    Raises Refused: faults name `due_on`, `until_on`, `policy`, `reason`, `interim_measure`,
    `document`, `notified_on` or `asked_by`.
    """
    wanted.requested_on = clock.day_of(at)
    wanted.recorded_by, wanted.recorded_at = by, at
    waiting = DeferralRequest.objects.waiting().filter(obligation=wanted.obligation_id).first()
    faults = [*_of_asker(wanted, by), *_of_others(wanted, waiting)]
    faults += _judged(wanted, wanted.requested_on)
    if faults:
        raise Refused(faults)
    wanted.save()
    audit.record([audit.change("deferral asked for", wanted)], by=by, at=at)
    return wanted


@audit.writing()
def approve(asked: DeferralRequest, *, by: User, at: datetime, words: str = "") -> Deferral:
    """Give the leave that was asked for, judged again on this day, and stamp the due lines.

    Raises Refused: faults name `answer`, or what `request` names.
    """
    stored, on = _stored(asked), clock.day_of(at)
    if faults := against(stored, by=by, on=on):
        raise Refused(faults)
    given = Deferral(
        **{name: getattr(stored, name) for name in COPIED}, approved_by=by, approved_on=on
    )
    obligations.defer([given], by=by, at=at)
    _close(stored, DeferralRequest.Answer.APPROVED, words, by, at, given)
    ledger.replay_positions([stored.obligation.position_id], at=at)
    return given


@audit.writing()
def refuse(asked: DeferralRequest, words: str, *, by: User, at: datetime) -> DeferralRequest:
    """Leave the due date as it is, and say why. Raises Refused: `answer`, `answer_words`."""
    stored = _stored(asked)
    faults = _of_answer(stored, by)
    if not words.strip():
        faults.append(Fault("answer_words", "", "say why the leave is not given"))
    if faults:
        raise Refused(faults)
    _close(stored, DeferralRequest.Answer.REFUSED, words, by, at)
    return stored


def against(asked: DeferralRequest, *, by: User, on: date) -> list[Fault]:
    """Everything that keeps this person from giving this leave on a day; empty where nothing."""
    return _of_answer(asked, by) or _judged(asked, on)


def _stored(asked: DeferralRequest) -> DeferralRequest:
    """As it stands now: another may have answered it meanwhile."""
    rows = DeferralRequest.objects.select_related("obligation__position", "answered_by")
    return rows.get(pk=asked.pk)


def _close(
    stored: DeferralRequest,
    answer: str,
    words: str,
    by: User,
    at: datetime,
    given: Deferral | None = None,
) -> None:
    stored.answer, stored.answer_words, stored.deferral = answer, words.strip(), given
    stored.answered_by, stored.answered_at = by, at
    stored.save()
    audit.record([audit.change(f"deferral {answer}", stored)], by=by, at=at)


def _of_asker(wanted: DeferralRequest, by: User) -> list[Fault]:
    if by.may(permissions.REQUEST_DEFERRAL, wanted.obligation.position.site_id):
        return []
    return [Fault("asked_by", by.name, "a planner or an engineer of this site asks for leave")]


def _of_others(wanted: DeferralRequest, waiting: DeferralRequest | None) -> list[Fault]:
    if waiting is None:
        return []
    words = (
        f"one request at a time: {waiting.recorded_by} asked on {waiting.requested_on} for leave"
        f" until {waiting.until_on}, and it waits for an answer"
    )
    return [Fault("due_on", "", words, code="waiting")]


def _of_answer(stored: DeferralRequest, by: User) -> list[Fault]:
    """Why this person may not answer it."""
    if stored.answered_at is not None:
        on = clock.day_of(stored.answered_at)
        return [Fault("answer", "", f"{stored.answered_by} {stored.answer} it on {on}")]
    faults = []
    if stored.recorded_by_id == by.pk:
        words = "another person than the one who asked answers a request for leave"
        faults.append(Fault("answer", by.name, words, code="own_request"))
    if not by.may(permissions.APPROVE_DEFERRAL, stored.obligation.position.site_id):
        words = "an engineer of this site answers a request for leave"
        faults.append(Fault("answer", by.name, words, code="no_right"))
    return faults


def _judged(row: DeferralRequest, on: date) -> list[Fault]:
    """Everything that speaks against this leave on a day."""
    record = records_of([row.obligation_id])[row.obligation_id]
    faults = [*_of_date(row, record, on), *_of_words(row, on)]
    for breach in record.breaches(leave_of(row, on)):
        field = "due_on" if breach.field == "on" else breach.field
        value = getattr(row, field)
        typed = "" if value is None else str(value)
        faults.append(Fault(field, typed, breach.words, code=breach.code))
    return faults


def _of_date(row: DeferralRequest, record: Record, on: date) -> list[Fault]:
    """It passes the present due date, and no leave has been given to pass that."""
    term, typed = record.term_on(on), str(row.due_on)
    if term is None:
        return [Fault("due_on", typed, "something that has a due date; this has none now")]
    if term.due_on != row.due_on:
        return [Fault("due_on", typed, f"the present due date, {term.due_on}", code="stale")]
    for leave in record.given.values():
        if leave.due_on == row.due_on:
            words = f"a due date is deferred once; this one was, to {leave.until_on}"
            return [Fault("due_on", typed, words, code="deferred_already")]
    return []


def _of_words(row: DeferralRequest, on: date) -> list[Fault]:
    faults = []
    if not row.reason.strip():
        faults.append(Fault("reason", "", "say why the due date has to be passed"))
    if row.notified_on is not None and row.notified_on > on:
        words = f"a day that is not in the future (today is {on})"
        faults.append(Fault("notified_on", str(row.notified_on), words))
    return faults
