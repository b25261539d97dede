"""Proposals that locked records give cause for, and those that a correction takes back.

What a record gives cause for is pure (`inspections.calc.causes`); nothing follows from it but a
proposal that a named engineer answers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from fleet import audit
from fleet.actions.proposals import raise_proposals, withdraw
from fleet.models import IntervalDecision, Proposal, User
from inspections.actions.as_found import Visit, Visits, as_founds
from inspections.calc.causes import FAILURES, WAIVED_TEST, Cause, causes_of
from inspections.models import Inspection

FROM_RECORDS = (*FAILURES, WAIVED_TEST)
CHUNK = 1000


@audit.writing()
def propose(inspections: Sequence[Inspection], *, by: User, at: datetime) -> list[Proposal]:
    """Raise what these locked records give cause for, once each; withdraw what no longer holds.

    A proposal stays where a correction gives the same cause, of the same day in the same words.
    What a first load brought, or a correction of it, is proposed only where it is the last found
    at its position.
    """
    corrected = _corrected(inspections)
    story = _Story.of(inspections, corrected)
    _withdraw(story, by, at)
    named = story.visits.named()
    lived_through = _of_first_load(corrected)
    fresh = [named[i.ref] for i in inspections if i.ref in named]
    fresh = [
        visit
        for visit in fresh
        if story.visits.is_last(visit) or not (visit.is_baseline or visit.ref in lived_through)
    ]
    wanted = [
        proposal
        for visit in fresh
        for proposal in story.proposals(visit)
        if not story.is_proposed(proposal)
    ]
    return raise_proposals([*wanted, *story.instead], by=by, at=at)


@audit.writing()
def propose_first_found(positions: Iterable[int], *, by: User, at: datetime) -> list[Proposal]:
    """What the last visit to each position gives cause for, once a first load is in: later tests
    answered what earlier ones found, and a decision since has answered the last one too."""
    visits = Visits.to(positions)
    story = _Story.about(visits, [here[-1] for here in visits.at.values() if here[-1].is_baseline])
    decided = _decided(visits.at)
    wanted = [
        proposal
        for visit in story.asked
        for proposal in story.proposals(visit)
        if not any(on >= visit.on for on in decided.get(visit.position, ()))
    ]
    return raise_proposals(wanted, by=by, at=at)


def _decided(positions: Iterable[int]) -> dict[int, list[date]]:
    """The days from which an interval was decided, by position."""
    places = sorted(positions)
    found: dict[int, list[date]] = {}
    for start in range(0, len(places), CHUNK):
        rows = IntervalDecision.objects.filter(
            obligation__position__in=places[start : start + CHUNK]
        )
        for position, on in rows.values_list("obligation__position", "from_on"):
            found.setdefault(position, []).append(on)
    return found


def _corrected(inspections: Sequence[Inspection]) -> dict[str, Inspection]:
    """{ref of every record, however far back, that these correct: the one of these}."""
    found, ahead = {}, {i.corrects_id: i for i in inspections if i.corrects_id}
    while ahead:
        rows = Inspection.objects.filter(pk__in=ahead).values_list("pk", "ref", "corrects")
        behind = {}
        for pk, ref, corrects in rows:
            found[ref] = ahead[pk]
            if corrects:
                behind[corrects] = ahead[pk]
        ahead = behind
    return found


def _of_first_load(corrected: dict[str, Inspection]) -> set[str]:
    """The refs of corrections of what a first load brought."""
    if not corrected:
        return set()
    rows = Inspection.objects.filter(ref__in=corrected, is_baseline=True)
    return {corrected[ref].ref for ref in rows.values_list("ref", flat=True)}


@dataclass
class _Story:
    """What was found at the positions concerned, and what is proposed of it.

    corrected: {ref: the record that now stands for it}. instead: raised in place of a withdrawn.
    """

    visits: Visits
    asked: Sequence[Visit]
    causes: dict[int, list[Cause]]
    proposed: Sequence[Proposal] = ()
    corrected: dict[str, Inspection] = field(default_factory=dict)
    instead: list[Proposal] = field(default_factory=list)

    @classmethod
    def of(cls, inspections: Sequence[Inspection], corrected: dict[str, Inspection]) -> "_Story":
        places = {i.position_id for i in inspections if i.position_id is not None}
        old = Proposal.objects.filter(source__in=corrected, kind__in=FROM_RECORDS)
        here = Proposal.objects.filter(position__in=places, kind__in=FROM_RECORDS)
        proposed = {row.pk: row for row in (*old, *here)}.values()
        visits = Visits.to(places | {row.position_id for row in proposed})
        refs = {i.ref for i in inspections} | {row.source for row in proposed}
        story = cls.about(visits, [v for ref, v in visits.named().items() if ref in refs])
        story.proposed, story.corrected = list(proposed), corrected
        return story

    @classmethod
    def about(cls, visits: Visits, asked: Sequence[Visit]) -> "_Story":
        before = {visit.inspection: visits.before(visit) for visit in asked}
        found = as_founds([*asked, *(visit for visit in before.values() if visit)])
        causes = {
            pk: causes_of(found[pk], found[other.inspection] if other else None)
            for pk, other in before.items()
        }
        return cls(visits, asked, causes)

    def proposals(self, visit: Visit) -> list[Proposal]:
        """Unsaved."""
        return [
            Proposal(
                position_id=visit.position,
                kind=cause.kind,
                reason=cause.reason,
                source=visit.ref,
                raised_on=visit.on,
            )
            for cause in self.causes[visit.inspection]
        ]

    def is_proposed(self, wanted: Proposal) -> bool:
        """Of this record already, or in the same words of one that this record corrects."""
        for row in self.proposed:
            if _cause(row) == _cause(wanted):
                return True
            stands_for = self.corrected.get(row.source)
            is_corrected = stands_for is not None and stands_for.ref == wanted.source
            taken_back = row.answer == Proposal.Answer.WITHDRAWN
            if is_corrected and _says(row) == _says(wanted) and not taken_back:
                return True
        return False


def _withdraw(story: _Story, by: User, at: datetime) -> None:
    """Open proposals whose record was corrected away, or is no longer what it was."""
    named = story.visits.named()
    for row in story.proposed:
        if row.answered_on is not None:
            continue
        if (correction := story.corrected.get(row.source)) is not None:
            visit = named.get(correction.ref)
            given = story.proposals(visit) if visit else []
            same = [p for p in given if _says(p) == _says(row)]
            if not same:
                withdraw([row], f"{row.source} was corrected by {correction.ref}", by=by, at=at)
        elif (visit := named.get(row.source)) is not None:
            _replace(story, row, visit, by, at)


def _cause(row: Proposal) -> tuple:
    return (row.position_id, row.kind, row.source)


def _says(row: Proposal) -> tuple:
    return (row.position_id, row.kind, row.reason, row.raised_on)


def _replace(story: _Story, row: Proposal, visit: Visit, by: User, at: datetime) -> None:
    """A failure becomes a repeated one, or is one no longer, by what is now known before it."""
    given = [p for p in story.proposals(visit) if p.kind in FAILURES]
    if row.kind not in FAILURES or not given or given[0].kind == row.kind:
        return
    if not story.is_proposed(given[0]):
        withdraw([row], "what was found the time before is now known otherwise", by=by, at=at)
        story.instead.append(given[0])
