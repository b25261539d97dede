"""What a work pack is of: the visits of an outage, of one of its days, or of one planned line.

They are those of the plan in force. Where nothing is accepted they are the outage's scope by date,
and the pack says so.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from fleet.drawings.axis import day_words
from fleet.models import LateScope, Outage, Plan, PlannedJob, Site
from fleet.reports.due import DueList
from fleet.reports.outages import Scope, scope_of
from fleet.reports.plan_since import OWED, with_done_on
from fleet.reports.reasons import with_day_words
from inspections.reports.picks import PickList, picks_of
from inspections.reports.visits import Key, Task, Tasks, Visit, visits_of

LINE = "obligation__line"


@dataclass(frozen=True)
class Pack:
    """plan: where its visits come from; None = the outage's scope by date. on: one day only.

    late_scope: approved into the frozen scope, and in no visit. picks: the spares taken along,
    where they are asked for.
    """

    site: Site
    outage: Outage | None
    on: date | None
    plan: Plan | None
    visits: Sequence[Visit]
    printed_on: date
    late_scope: Sequence[LateScope] = ()
    picks: PickList = field(default_factory=lambda: PickList(()))

    @property
    def hours(self) -> Decimal:
        return sum((visit.hours for visit in self.visits), Decimal())

    @property
    def missing_hours(self) -> int:
        return sum(visit.is_missing_hours for visit in self.visits)

    @property
    def lines(self) -> int:
        return sum(len(visit.tasks) for visit in self.visits)


def plan_in_force(site_id: int) -> Plan | None:
    """The site's accepted plan that nothing accepted follows."""
    plans = Plan.objects.in_force().filter(site=site_id)
    return plans.select_related("accepted_by", "site").first()


def pack_of_outage(
    outage: Outage, due: DueList, on: date | None = None, *, with_spares: bool = False
) -> Pack:
    """About twenty queries, however large it is; each visit's sheet is read when it is drawn.

    Spares are shared out over the whole outage, so that a day of it has those it has there.
    """
    plan = plan_in_force(outage.site_id)
    if plan is not None:
        tasks = _planned(plan.jobs.filter(outage=outage))
    else:
        tasks = _by_date(scope_of(outage, due)) if _takes_work(outage, due.as_of) else {}
    every = visits_of(tasks, due)
    visits = [visit for visit in every if on in (None, visit.planned_on)]
    there = {visit.position.pk for visit in visits}
    late = LateScope.objects.approved().filter(outage=outage).exclude(position__in=there)
    late_scope = list(late.select_related("position", "answered_by").order_by("position__tag"))
    return Pack(
        site=outage.site,
        outage=outage,
        on=on,
        plan=plan,
        visits=visits,
        printed_on=due.as_of,
        late_scope=late_scope if on is None else (),
        picks=picks_of(every) if with_spares else PickList(()),
    )


def _takes_work(outage: Outage, as_of: date) -> bool:
    gone = (Outage.Status.DONE, Outage.Status.CANCELLED)
    return outage.ends_on >= as_of and outage.status not in gone


def pack_of_job(job: PlannedJob, due: DueList) -> Pack:
    """The visit that one planned line is part of. Raises ValueError where no day is planned."""
    if job.planned_on is None:
        raise ValueError(f"{job} has no day")
    same = job.plan.jobs.filter(position=job.position_id, planned_on=job.planned_on)
    visits = visits_of(_planned(same), due)
    return Pack(job.plan.site, job.outage, job.planned_on, job.plan, visits, due.as_of)


def _planned(jobs: QuerySet[PlannedJob]) -> Tasks:
    found: Tasks = defaultdict(list)
    for job in with_done_on(jobs.exclude(planned_on=None)).select_related(LINE):
        assert job.planned_on is not None
        is_on_stream = job.status == PlannedJob.Status.ONLINE
        found[Key(job.position_id, job.planned_on, True, is_on_stream)].append(
            Task(
                activity=job.activity,
                due_on=job.due_on,
                hours=job.hours,
                covered_by=job.covered_by,
                days_late=job.days_late,
                deferred_until=job.deferred_until,
                reason=with_day_words(job.reason),
                done_on=job.done_on,
                since="" if job.done_on else _since(job),
            )
        )
    return found


def _since(job: PlannedJob) -> str:
    """What is owed now, where that is no longer what was planned for."""
    line = getattr(job.obligation, "line", None)
    if line is None:
        return ""
    if line.state not in OWED:
        return "no longer owed"
    if line.due_on == job.due_on:
        return ""
    return f"now due {day_words(line.due_on)}" if line.due_on else "without a date now"


def _by_date(scope: Scope) -> Tasks:
    found: Tasks = defaultdict(list)
    for work, row in scope.rows(0, None, "due_on"):
        found[Key(work.line.position, scope.outage.starts_on, False, False)].append(
            Task(
                activity=work.line.activity,
                due_on=work.line.due_on,
                hours=work.hours,
                covered_by=work.covered_by,
                days_late=work.days_late,
                deferred_until=work.line.until,
                reason=with_day_words(row.reason),
            )
        )
    return found
