"""Proposals as a list, oldest first: what happened, from which record, what is owed meanwhile."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet

from fleet.models import Proposal
from fleet.reports.due import DueList, DueRow, rows_of
from fleet.reports.due_lines import Line, in_order, lines_of, sources
from fleet.reports.proposals import ASKS_INTERVAL
from inspections.models import Inspection

COLUMNS = (
    *("site", "unit", "tag", "kind", "reason", "source", "raised_on", "days_open"),
    *("answer", "answered_on", "answered_by", "answer_words"),
)
CHUNK = 1000


@dataclass(frozen=True)
class ProposalsAsk:
    """What is wanted: of a site or unit; still open, or answered."""

    site: int | None = None
    unit: int | None = None
    answered: str = ""


@dataclass(frozen=True)
class ProposalRow:
    """A proposal, the record it comes from (None: not one), and what its interval governs."""

    proposal: Proposal
    record: int | None
    owed: Sequence[DueRow]
    as_of: date

    @property
    def days_open(self) -> int:
        """Up to its answer, or to the day it is looked at; below nought: still to come."""
        return ((self.proposal.answered_on or self.as_of) - self.proposal.raised_on).days

    def as_dict(self) -> dict[str, Any]:
        row = self.proposal
        said = {
            "site": row.position.site.name,
            "unit": row.position.unit.name,
            "tag": row.position.tag,
            "days_open": self.days_open,
            "answered_by": str(row.answered_by or ""),
        }
        return {name: said[name] if name in said else getattr(row, name) for name in COLUMNS}


@dataclass(frozen=True)
class ProposalList:
    """The proposals a user may see, and answered ones only where they are asked for."""

    due: DueList
    ask: ProposalsAsk

    @property
    def matching(self) -> QuerySet[Proposal]:
        rows = Proposal.objects.visible_to(self.due.user)
        rows = (
            rows.exclude(answered_on=None) if self.ask.answered else rows.filter(answered_on=None)
        )
        if self.ask.site:
            rows = rows.filter(position__site=self.ask.site)
        if self.ask.unit:
            rows = rows.filter(position__unit=self.ask.unit)
        return rows

    def count(self) -> int:
        return self.matching.count()

    def rows(self, start: int, stop: int | None, sort: str) -> list[ProposalRow]:
        """A page, in a number of queries that does not grow with it."""
        turned = "-" if sort.startswith("-") else ""
        ordered = self.matching.order_by(f"{turned}raised_on", "position__tag", "pk")
        links = ("position__site", "position__unit", "answered_by", "decision")
        return rows_about(list(ordered.select_related(*links)[start:stop]), self.due)

    def every_row(self) -> Iterator[Mapping[str, Any]]:
        for start in range(0, self.count(), CHUNK):
            yield from (row.as_dict() for row in self.rows(start, start + CHUNK, "raised_on"))


def rows_about(proposals: Sequence[Proposal], due: DueList) -> list[ProposalRow]:
    records = records_named({row.source for row in proposals})
    owed = owed_at({row.position_id for row in proposals}, due)
    return [
        ProposalRow(row, records.get(row.source), owed.get(row.position_id, []), due.as_of)
        for row in proposals
    ]


def records_named(refs: Iterable[str]) -> dict[str, int]:
    """The records that proposals come from, by their ref."""
    return dict(Inspection.objects.filter(ref__in=sorted(refs)).values_list("ref", "pk"))


def owed_at(positions: Iterable[int], due: DueList) -> dict[int, list[DueRow]]:
    """What each position owes that a proposal is about: its tests and overhauls, else all."""
    ids = sorted(positions)
    parts = [part.filter(line_position__in=ids) for part in sources(due.as_of, due.user)]
    lines: dict[int, list[Line]] = defaultdict(list)
    for line in lines_of(in_order(parts, "order_on")):
        lines[line.position].append(line)
    wanted = [line for here in lines.values() for line in _asked_about(here)]
    found: dict[int, list[DueRow]] = defaultdict(list)
    for row in rows_of(wanted, due.seen):
        found[row.line.position].append(row)
    return found


def _asked_about(lines: Sequence[Line]) -> Sequence[Line]:
    return [line for line in lines if line.activity in ASKS_INTERVAL] or lines
