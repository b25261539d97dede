"""The answer of a plan, line by line, in the columns of every export, each with its reason."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from fleet.calc.activities import SATISFIES
from fleet.calc.outages import GIVEN_UP, UNPLACED, Proposal
from fleet.models import PlannedJob
from fleet.reports.due_lines import Line
from fleet.reports.plan_reasons import Reasons
from fleet.reports.plan_slots import SlotId
from fleet.reports.plan_work import VisitId, Work

Status = PlannedJob.Status
COLUMNS = (
    *("site", "tag", "activity", "due_on", "outage", "planned_on", "hours"),
    *("days_given_up", "status", "days_late", "reason"),
)


@dataclass(frozen=True)
class PlanRow:
    """One line of a plan; its fields down to `reason` are the columns of every export.

    hours: None where nobody has said; 0 where a larger activity of the same visit does it.
    """

    site: str
    tag: str
    activity: str
    due_on: date | None
    outage: str
    planned_on: date | None
    hours: Decimal | None
    days_given_up: int | None
    status: str
    days_late: int
    reason: str
    line: Line
    outage_id: int | None
    covered_by: str
    severity: str

    def as_dict(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in COLUMNS}


def rows_of(work: Work, proposal: Proposal) -> list[PlanRow]:
    """Every line of the work, by tag, with where the proposal puts it."""
    told = _Told(work, proposal, Reasons(work, proposal))
    rows = [row for key, lines in work.visits.items() for row in told.visit(key, lines)]
    rows += [told.in_place(line) for line in work.in_place]
    return sorted(rows, key=lambda row: (row.tag, row.activity, row.line.obligation))


@dataclass(frozen=True)
class _Told:
    work: Work
    proposal: Proposal
    reasons: Reasons

    def visit(self, key: VisitId, lines: Sequence[Line]) -> Iterator[PlanRow]:
        slot = self.proposal.placed.get(key)
        main, hours = lines[0], self.work.hours_of(lines)
        yield self._row(main, slot, hours, reason=self.reasons.of_visit(key, main, hours))
        for line in lines[1:]:
            done_by = self.reasons.of_covered(main.activity) if slot else ""
            reason = done_by or self.reasons.of_visit(key, line, hours)
            yield self._row(line, slot, Decimal(), main.activity, reason)

    def in_place(self, line: Line) -> PlanRow:
        """Needs no outage: done with a visit that does it in time, else on its own day."""
        for key, lines in self._at.get(line.position, ()):
            slot, main = self.proposal.placed.get(key), lines[0].activity
            if slot and line.activity in SATISFIES[main] and self._is_in_time(line, slot):
                reason = self.reasons.of_covered(main)
                return self._row(line, slot, Decimal(), main, reason)
        day = max(line.due_on or self.work.from_on, self.work.from_on)
        hours = self.work.hours.for_line(line)
        return self._row(line, day, hours, reason=self.reasons.of_in_place(line))

    @cached_property
    def _at(self) -> dict[int, list[tuple[VisitId, list[Line]]]]:
        found: dict[int, list] = defaultdict(list)
        for key, lines in self.work.visits.items():
            found[key[0]].append((key, lines))
        return found

    def _is_in_time(self, line: Line, slot: SlotId) -> bool:
        return line.due_on is not None and self.work.day_of(slot) <= line.due_on

    def _row(
        self,
        line: Line,
        slot: SlotId | None,
        hours: Decimal | None,
        covered_by: str = "",
        reason: str = "",
    ) -> PlanRow:
        on = self.work.day_of(slot) if slot else None
        outage = self.work.outages.get(slot) if isinstance(slot, int) else None
        late = max((on - line.due_on).days, 0) if on and line.due_on else 0
        given_up = max((line.due_on - on).days, 0) if on and line.due_on else None
        return PlanRow(
            site=self.work.site.name,
            tag=line.tag,
            activity=line.activity,
            due_on=line.due_on,
            outage=outage.name if outage else "",
            planned_on=on,
            hours=hours,
            days_given_up=given_up,
            status=_status(on, outage is not None, late),
            days_late=late,
            reason=reason,
            line=line,
            outage_id=outage.pk if outage else None,
            covered_by=covered_by,
            severity=self.work.service(line.position).severity,
        )


def _status(on: date | None, in_outage: bool, late: int) -> str:
    if on is None:
        return Status.NO_OPPORTUNITY.value
    if not in_outage:
        return Status.ONLINE.value
    return (Status.LATE if late else Status.PLACED).value


def summary_of(rows: Sequence[PlanRow], proposal: Proposal) -> dict[str, Any]:
    """The summary of the command: counts and days of the rows, and what is proved of them.

    Lines that need no outage are counted too; nothing about them could be better.
    """
    unplaced = sum(row.status == Status.NO_OPPORTUNITY for row in rows)
    days, goal = sum(row.days_given_up or 0 for row in rows), proposal.goal(GIVEN_UP)
    return {
        "jobs": len(rows),
        "unplaced": unplaced,
        "unplaced_bound": proposal.goal(UNPLACED).bound,
        "days_given_up": days,
        "days_bound": days - goal.value + goal.bound,
        "solver_status": proposal.status,
    }
