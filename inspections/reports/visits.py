"""All that is done at one position in one go: what, to which device, and what must be known."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.db.models import Q

from fleet.calc.coverage import Coverage
from fleet.models import (
    ArrangementMember,
    Device,
    Installation,
    Position,
    PositionDuty,
    Proposal,
)
from fleet.reports.coverage import protection_of
from fleet.reports.due import DueList
from inspections.models import Inspection, Question
from inspections.reports.job_sheet import JobSheet, job_sheet_of

# The first of these that is owed is what the visit's record is of; the others go with it.
FIRST = (
    *("overhaul", "bench_test", "disc_change", "replacement", "in_place_test", "lever"),
    *("visual", "capacity_review"),
)


@dataclass(frozen=True)
class Task:
    """One line of a visit. hours: None where nobody has said.

    done_on: the day it was done since the plan was made. since: what else is otherwise now.
    """

    activity: str
    due_on: date | None
    hours: Decimal | None
    covered_by: str
    days_late: int
    deferred_until: date | None
    reason: str
    done_on: date | None = None
    since: str = ""


@dataclass(frozen=True)
class Key:
    """Where and when. is_planned: a plan names this very day; else it is the outage's first."""

    position: int
    planned_on: date
    is_planned: bool
    is_on_stream: bool


@dataclass(frozen=True)
class Visit:
    """Everything to be done at one position in one go, and what must be known before.

    device: what is fitted there now, None where nothing is. open_job: its job at the bench.
    """

    position: Position
    duty: PositionDuty | None
    device: Device | None
    planned_on: date
    is_planned: bool
    is_on_stream: bool
    tasks: Sequence[Task]
    questions: Sequence[Question] = ()
    proposals: Sequence[Proposal] = ()
    partners: Sequence[ArrangementMember] = ()
    coverage: Coverage | None = None  # asked on stream alone: in an outage its equipment is down
    open_job: Inspection | None = None

    @property
    def main(self) -> str:
        """The activity whose record the others go with, of what is left to do."""
        left = [task.activity for task in self.tasks if task.done_on is None]
        return min(left or [task.activity for task in self.tasks], key=FIRST.index)

    @property
    def done_on(self) -> date | None:
        """The day by which all of it was done; None while anything is left to do."""
        days = [task.done_on for task in self.tasks if task.done_on is not None]
        return max(days) if len(days) == len(self.tasks) else None

    @property
    def hours(self) -> Decimal:
        return sum((task.hours for task in self.tasks if task.hours), Decimal())

    @property
    def is_missing_hours(self) -> bool:
        return any(task.hours is None for task in self.tasks)

    def sheet(self) -> JobSheet | None:
        """The record to be filled in, of the device fitted now. About twelve queries."""
        if self.device is None:
            return None
        planned = Inspection(
            device=self.device,
            site_id=self.position.site_id,
            position=self.position,
            activity=self.main,
            done_on=self.planned_on,
        )
        return job_sheet_of(planned)


Tasks = dict[Key, list[Task]]


def visits_of(tasks: Tasks, due: DueList) -> list[Visit]:
    """In order of days, then tags. Eight queries, and those of what is left on stream."""
    places = {key.position for key in tasks}
    around = _Around.of(places, due)
    protection = protection_of({key.position for key in tasks if key.is_on_stream}, due.as_of)
    found = [
        replace(visit, coverage=protection.without(visit.position.pk))
        if visit.is_on_stream
        else visit
        for visit in (around.visit(key, rows) for key, rows in tasks.items())
    ]
    return sorted(
        found, key=lambda visit: (visit.planned_on, visit.position.tag, visit.position.pk)
    )


@dataclass(frozen=True)
class _Around:
    """What stands at these positions and waits for an answer, by primary keys."""

    positions: dict[int, Position]
    duties: dict[int, list[PositionDuty]]
    fitted: dict[int, Device]
    questions: Sequence[Question]
    proposals: dict[int, list[Proposal]]
    members: dict[int, list[ArrangementMember]]
    open_jobs: dict[int, Inspection]

    @classmethod
    def of(cls, places: set[int], due: DueList) -> "_Around":
        rows = Position.objects.select_related("unit", "site", "equipment")
        spells = Installation.objects.on(due.as_of).filter(position__in=places)
        fitted = {
            spell.position_id: spell.device for spell in spells.select_related("device__model")
        }
        devices = {device.pk for device in fitted.values()}
        asked = Q(position__in=places) | Q(device__in=devices)
        jobs = Inspection.objects.open().filter(device__in=devices).order_by("-pk")
        return cls(
            positions=rows.in_bulk(places),
            duties=_grouped(PositionDuty.objects.filter(position__in=places), "position_id"),
            fitted=fitted,
            questions=list(Question.objects.open().filter(asked).order_by("pk")),
            proposals=_grouped(
                Proposal.objects.open_on(due.as_of).filter(position__in=places), "position_id"
            ),
            members=_partners(places),
            open_jobs={job.device_id: job for job in jobs},
        )

    def visit(self, key: Key, tasks: Sequence[Task]) -> Visit:
        device = self.fitted.get(key.position)
        begun = [d for d in self.duties.get(key.position, ()) if _from(d) <= key.planned_on]
        return Visit(
            position=self.positions[key.position],
            duty=max(begun, key=_from, default=None),
            device=device,
            planned_on=key.planned_on,
            is_planned=key.is_planned,
            is_on_stream=key.is_on_stream,
            tasks=sorted(tasks, key=lambda task: FIRST.index(task.activity)),
            questions=[q for q in self.questions if _is_about(q, key.position, device)],
            proposals=self.proposals.get(key.position, ()),
            partners=self.members.get(key.position, ()),
            open_job=self.open_jobs.get(device.pk) if device else None,
        )


def _from(duty: PositionDuty) -> date:
    return duty.from_on or date.min


def _is_about(question: Question, position: int, device: Device | None) -> bool:
    is_of_device = device is not None and question.device_id == device.pk
    return question.position_id == position or is_of_device


def _grouped(rows: Iterable, column: str) -> dict[int, list]:
    found = defaultdict(list)
    for row in rows:
        found[getattr(row, column)].append(row)
    return found


def _partners(places: set[int]) -> dict[int, list[ArrangementMember]]:
    """Who does its duty with each position."""
    mine = ArrangementMember.objects.filter(position__in=places).values_list(
        "arrangement", "position"
    )
    at: dict[int, list[int]] = defaultdict(list)
    for arrangement, position in mine:
        at[arrangement].append(position)
    others = ArrangementMember.objects.filter(arrangement__in=at).select_related("position")
    found: dict[int, list[ArrangementMember]] = defaultdict(list)
    for member in others.order_by("position__tag"):
        for position in at[member.arrangement_id]:
            if position != member.position_id:
                found[position].append(member)
    return found
