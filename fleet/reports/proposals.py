"""Open proposals, as the lines of a list say them: what happened, and for how long it waits."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Exists, OuterRef, Q

from fleet.models import ObligationSpan, Proposal
from fleet.reports.due_lines import Line

ASKS_INTERVAL = ("in_place_test", "bench_test", "overhaul", "disc_change")


@dataclass(frozen=True)
class Pending:
    """The oldest open proposal of a position, and how many more are open beside it."""

    pk: int
    kind: str
    raised_on: date
    days: int
    more: int = 0

    def __str__(self) -> str:
        """`as-received failure, open 41 days, +1 more`."""
        more = f", +{self.more} more" if self.more else ""
        return f"{self.kind}, open {self.days} day{'' if self.days == 1 else 's'}{more}"


@dataclass(frozen=True)
class Proposals:
    """The open proposals of the positions of a page.

    tested: the positions that owe a test or an overhaul: there, only those lines show them.
    """

    by_position: dict[int, Pending] = field(default_factory=dict)
    tested: frozenset[int] = frozenset()

    @classmethod
    def about(
        cls, lines: Sequence[Line], as_of: date, known_at: datetime | None = None
    ) -> "Proposals":
        """One query. known_at: only what was written down by then."""
        rows = Proposal.objects.open_on(as_of, known_at)
        rows = rows.filter(position__in={line.position for line in lines})
        owed = _owing_tests(as_of, known_at).filter(obligation__position=OuterRef("position"))
        found: dict[int, list[Proposal]] = defaultdict(list)
        tested = set()
        for row in rows.annotate(owes_test=Exists(owed)).order_by("raised_on", "pk"):
            found[row.position_id].append(row)
            if row.owes_test:
                tested.add(row.position_id)
        by_position = {pk: _pending(rows, as_of) for pk, rows in found.items()}
        return cls(by_position, frozenset(tested))

    def of(self, line: Line) -> Pending | None:
        if line.position in self.tested and line.activity not in ASKS_INTERVAL:
            return None
        return self.by_position.get(line.position)


def _owing_tests(as_of: date, known_at: datetime | None):
    spans = ObligationSpan.objects.known(known_at).on(as_of)
    return spans.filter(obligation__activity__in=ASKS_INTERVAL)


def _pending(rows: Sequence[Proposal], as_of: date) -> Pending:
    oldest = rows[0]
    days = (as_of - oldest.raised_on).days
    return Pending(oldest.pk, oldest.get_kind_display(), oldest.raised_on, days, more=len(rows) - 1)


def with_proposal(as_of: date, known_at: datetime | None = None) -> Q:
    """Lines that show an open proposal: the same as `Proposals.of`, asked of the database."""
    proposed = Proposal.objects.open_on(as_of, known_at).values("position")
    tested = _owing_tests(as_of, known_at).values("obligation__position")
    shows = Q(line_activity__in=ASKS_INTERVAL) | ~Q(line_position__in=tested)
    return Q(line_position__in=proposed) & shows
