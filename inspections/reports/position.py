"""One position, whole: what it owes and why, and everything that ever happened there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleet.models import (
    Deferral,
    DeferralRequest,
    Installation,
    IntervalDecision,
    Obligation,
    Position,
    PositionDuty,
    Proposal,
)
from fleet.reports.due import DueList, DueRow
from inspections.models import Inspection, Question
from inspections.reports.beside import Beside, beside_of, entries_of, rows_at
from inspections.reports.timeline import (
    Entry,
    latest_first,
    of_decisions,
    of_deferrals,
    of_duties,
    of_proposals,
    of_questions,
    of_records,
    of_requests,
    of_spells,
)


@dataclass(frozen=True)
class Owed:
    """One thing owed here, as the due list says it, with its rule and what was decided on it."""

    row: DueRow
    obligation: Obligation | None
    decisions: Sequence[IntervalDecision]
    deferrals: Sequence[Deferral]
    waiting: DeferralRequest | None  # leave that was asked for and has no answer yet


@dataclass(frozen=True)
class PositionStory:
    """Everything one page says about a position."""

    position: Position
    duties: Sequence[PositionDuty]  # latest first
    duty: PositionDuty | None  # in force that day
    spells: Sequence[Installation]  # latest first, without those taken back
    fitted: Installation | None
    owed: Sequence[Owed]
    ended: Sequence[Obligation]
    questions: Sequence[Question]
    proposals: Sequence[Proposal]  # open that day, oldest first
    beside: Beside
    timeline: Sequence[Entry]  # latest first


def story_of(position: Position, due: DueList) -> PositionStory:
    """About a dozen queries, however long the history."""
    day, duties, written = due.as_of, _duties(position), _spells(position)
    spells = [spell for spell in written if spell.voided_at is None]
    obligations = list(position.obligations.select_related("rule").order_by("pk"))
    decisions, deferrals = _decided(obligations)
    questions, proposals = _questions(position), _proposals(position)
    requests = _requests(position)
    records, beside = Inspection.objects.filter(position=position), beside_of(position, due)
    return PositionStory(
        position=position,
        duties=duties,
        duty=next((duty for duty in duties if (duty.from_on or date.min) <= day), None),
        spells=spells,
        fitted=next((s for s in spells if s.installed_on <= day and s.removed_on is None), None),
        owed=_owed(position, due, obligations, (decisions, deferrals, requests)),
        ended=[row for row in obligations if row.until_on and row.until_on <= day],
        questions=[question for question in questions if question.answered_at is None],
        proposals=[row for row in proposals if row.answered_on is None and row.raised_on <= day],
        beside=beside,
        timeline=latest_first(
            [
                *of_duties(duties),
                *of_spells(written),
                *of_records(records.select_related("device", "done_by", "event", "position")),
                *of_decisions(decisions),
                *of_deferrals(deferrals),
                *of_requests(requests),
                *of_proposals(proposals),
                *of_questions(questions),
                *entries_of(beside),
            ]
        ),
    )


def _duties(position: Position) -> list[PositionDuty]:
    """Latest first; the one that has held since always comes last."""
    duties = position.duties.select_related("tolerance", "unit", "recorded_by")
    return sorted(duties, key=lambda duty: duty.from_on or date.min, reverse=True)


def _spells(position: Position) -> list[Installation]:
    """Latest first; those taken back too."""
    people = ("fitted_by", "recorded_by", "voided_by")
    spells = position.installations.select_related("device__model", *people)
    return list(spells.order_by("-installed_on", "-pk"))


def _questions(position: Position) -> list[Question]:
    questions = Question.objects.filter(position=position)
    return list(questions.select_related("inspection", "answered_by").order_by("-recorded_at"))


def _proposals(position: Position) -> list[Proposal]:
    rows = Proposal.objects.filter(position=position).select_related("answered_by")
    return list(rows.order_by("raised_on", "pk"))


def _decided(obligations: Sequence[Obligation]) -> tuple[list[IntervalDecision], list[Deferral]]:
    decisions = IntervalDecision.objects.filter(obligation__in=obligations)
    deferrals = Deferral.objects.filter(obligation__in=obligations)
    return (
        list(decisions.select_related("decided_by", "obligation").order_by("from_on")),
        list(deferrals.select_related("approved_by", "obligation").order_by("approved_on")),
    )


def _requests(position: Position) -> list[DeferralRequest]:
    """Those that wait and those refused; an approved one is its deferral."""
    rows = DeferralRequest.objects.filter(obligation__position=position, deferral=None)
    links = ("obligation", "recorded_by", "answered_by")
    return list(rows.select_related(*links).order_by("requested_on", "pk"))


Decided = tuple[
    Sequence[IntervalDecision],
    Sequence[Deferral],
    Sequence[DeferralRequest],
]


def _owed(
    position: Position, due: DueList, obligations: Sequence[Obligation], decided: Decided
) -> list[Owed]:
    by_id = {row.pk: row for row in obligations}
    decisions, deferrals, requests = decided
    waiting = {row.obligation_id: row for row in requests if row.answered_at is None}
    return [
        Owed(
            row,
            by_id.get(row.line.obligation) if row.line.obligation else None,
            [d for d in decisions if d.obligation_id == row.line.obligation],
            [d for d in deferrals if d.obligation_id == row.line.obligation],
            waiting.get(row.line.obligation) if row.line.obligation else None,
        )
        for row in owed_rows(position, due)
    ]


def owed_rows(position: Position, due: DueList) -> list[DueRow]:
    """The due list's rows of this position, in the order of their dates."""
    return rows_at([position.pk], due)
