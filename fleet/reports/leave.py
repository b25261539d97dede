"""What one due date is, and how far each policy would let it be passed."""

from dataclasses import dataclass
from datetime import date

from fleet.actions.leave import records_of
from fleet.calc.deferrals import POLICIES, Limit, Policy, Term, limit
from fleet.models import Deferral, DeferralRequest, Obligation, ObligationSpan
from fleet.reports.reasons import dated


@dataclass(frozen=True)
class Reach:
    """How far one policy reaches past a due date."""

    slug: str
    words: str
    policy: Policy
    limit: Limit
    allows_nothing: bool


@dataclass(frozen=True)
class Case:
    """What is due and why, what already stands in the way of asking, how far policies reach.

    term: None where nothing is due, and then no policy reaches anywhere. given: the leave that
    this due date has. waiting: the request that has no answer yet.
    """

    term: Term | None
    reason: str
    is_late: bool
    given: Deferral | None
    waiting: DeferralRequest | None
    reaches: tuple[Reach, ...]

    @property
    def may_be_asked(self) -> bool:
        is_free = self.given is None and self.waiting is None
        return self.term is not None and not self.is_late and is_free

    def reach(self, slug: str) -> Reach | None:
        return next((reach for reach in self.reaches if reach.slug == slug), None)


def case_of(owed: Obligation, today: date) -> Case:
    """Five queries."""
    term = records_of([owed.pk])[owed.pk].term_on(today)
    spans = ObligationSpan.objects.known().on(today).filter(obligation=owed)
    links = ("obligation__rule", "event", "decision__decided_by")
    span = spans.select_related(*links).first()
    waiting = DeferralRequest.objects.waiting().filter(obligation=owed)
    given = Deferral.objects.filter(obligation=owed, due_on=term.due_on) if term else None
    return Case(
        term,
        dated(span) if term and span else "",
        term is not None and term.due_on < today,
        given.select_related("approved_by").first() if given is not None else None,
        waiting.select_related("recorded_by").first(),
        _reaches(term) if term else (),
    )


def _reaches(term: Term) -> tuple[Reach, ...]:
    reaches = []
    for slug, policy in POLICIES.items():
        found = limit(slug, term.last_on, term.due_on)
        allows_nothing = found.until_on is not None and found.until_on <= term.due_on
        reaches.append(Reach(slug, Deferral.Policy(slug).label, policy, found, allows_nothing))
    return tuple(reaches)
