"""What a deferral is judged on: the due dates its obligation has had, and its other deferrals."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from fleet.calc.deferrals import Breach, Leave, Term, breaches
from fleet.models import Deferral, DeferralRequest, ObligationSpan

FEW = 1000  # as many as one condition names


@dataclass(frozen=True)
class Record:
    """Of one obligation: its due dates in order, and its deferrals by primary key."""

    terms: list[Term]
    given: dict[int, Leave]

    def breaches(self, leave: Leave, own: int | None = None) -> list[Breach]:
        """What a deferral breaks. own: its primary key, where it is one of those given."""
        return breaches(leave, self.terms, (g for pk, g in self.given.items() if pk != own))

    def term_on(self, day: date) -> Term | None:
        """What is due by then; None where nothing dated holds."""
        held = (t for t in self.terms if t.from_on <= day and (not t.until_on or day < t.until_on))
        return next(held, None)


def leave_of(row: Deferral | DeferralRequest, on: date) -> Leave:
    """The row as its policy judges it, asked for or approved on a day."""
    return Leave(
        row.policy,
        row.due_on,
        row.until_on,
        on,
        row.interim_measure.strip(),
        row.document.strip(),
        row.notified_on,
    )


def records_of(obligation_ids: Collection[int]) -> dict[int, Record]:
    """By obligation; two queries for each thousand of them."""
    records: dict[int, Record] = defaultdict(lambda: Record([], {}))
    ids = sorted(obligation_ids)
    for start in range(0, len(ids), FEW):
        some = ids[start : start + FEW]
        for key, *term in _terms(some):
            records[key].terms.append(Term(*term))
        for row in Deferral.objects.filter(obligation__in=some).order_by("pk"):
            records[row.obligation_id].given[row.pk] = leave_of(row, row.approved_on)
    return records


def _terms(obligation_ids: Collection[int]) -> Iterable[tuple]:
    dated = ObligationSpan.objects.known().exclude(due_on=None).exclude(last_on=None)
    rows = dated.filter(obligation__in=obligation_ids).order_by("obligation", "from_on")
    return rows.values_list("obligation", "from_on", "until_on", "last_on", "due_on")
