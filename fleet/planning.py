"""A plan worked out and put in force: facts read, solved, written; the work of a background job."""

import time
from collections.abc import Callable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from fleet import audit, clock, jobs
from fleet.actions import plans
from fleet.calc.outages import Conflicting, Effort, Proposal, propose
from fleet.faults import Fault, Refused
from fleet.models import AuditHead, Job, Plan, PlannedJob, Site, User
from fleet.reports.plan_changes import differences
from fleet.reports.plan_checks import Planned, plan_checks
from fleet.reports.plan_reasons import conflict_words
from fleet.reports.plan_rows import PlanRow, rows_of
from fleet.reports.plan_since import since
from fleet.reports.plan_work import work_of
from fleet.stamps import FIRST

KIND = plans.KIND
EFFORT = Effort()
UNDER_WAY = (Job.State.WAITING, Job.State.RUNNING)
Progress = Callable[[str, int, int], None]


def ask(site: Site, from_on: date, to_on: date, *, by: User, at: datetime) -> Plan:
    """Ask for a plan, worked out in a process of its own. Raises Refused: `to_on`."""
    plan = plans.ask(site, from_on, to_on, by=by, at=at)
    jobs.start(plan.job)
    return plan


def again(site: Site, *, by: User, at: datetime) -> Plan | None:
    """Have a site's plan in force worked out anew, from today on; None where it has none."""
    in_force = Plan.objects.in_force().filter(site=site).first()
    today = clock.day_of(at)
    if in_force is None or in_force.to_on < today:
        return None
    return ask(site, today, in_force.to_on, by=by, at=at)


def again_if_overtaken(site: Site, *, by: User, at: datetime) -> Plan | None:
    """The same, where something has happened that neither the plan in force knows nor a proposal
    after it that waits to be looked at."""
    latest = Plan.objects.filter(site=site).order_by("-pk").first()
    in_force = Plan.objects.in_force().filter(site=site).first()
    if in_force is None or latest is None or _is_for_people(latest):
        return None
    newest = Plan.objects.filter(site=site).exclude(proposed_at=None).order_by("-pk").first()
    if newest is None or not since(newest).is_stale:
        return None
    return again(site, by=by, at=at)


def _is_for_people(plan: Plan) -> bool:
    """Being worked out already, or held up by pins and bars that somebody has to settle first; one
    that was stopped or has failed keeps nobody waiting."""
    if plan.proposed_at is not None or plan.job is None:
        return False
    return plan.job.state in UNDER_WAY or "conflicts" in plan.job.result


def plan_job(job: Job, progress: Progress, *, at: datetime) -> dict[str, Any]:
    """Work out the plan a job was asked for. Returns the job's result: where pins and bars cannot
    all hold, the conflicts in words, and nothing is written."""
    plan = Plan.objects.select_related("site", "recorded_by").get(pk=job.arguments["plan"])
    progress("reading what is due", 0, 1)
    with audit.reading():
        head = AuditHead.objects.first()
        work = work_of(plan.site, plan.from_on, plan.to_on, clock.today())
    began = time.perf_counter()
    try:
        proposal = propose(work.problem, EFFORT, progress)
    except Conflicting as conflicting:
        return {"plan": plan.pk, "conflicts": conflict_words(work, conflicting)}
    rows = rows_of(work, proposal)
    progress("checking protection, spares and samples", 0, 1)
    outcome = plans.Outcome(
        entry=head.number if head else 0,
        solver_status=proposal.status,
        goals=_goals(proposal),
        prices=_prices(proposal),
        checks=_checks(plan, rows),
        seconds=round(Decimal(time.perf_counter() - began), 2),
    )
    plans.propose(plan, [_job(row) for row in rows], outcome, by=plan.recorded_by, at=at)
    return {"plan": plan.pk, "lines": len(rows)}


def _goals(proposal: Proposal) -> list[dict[str, Any]]:
    return [
        {
            "name": goal.name,
            "value": str(goal.value),
            "bound": str(goal.bound),
            "proved": goal.is_proved,
        }
        for goal in proposal.goals
    ]


def _prices(proposal: Proposal) -> dict[str, dict[str, str]]:
    """{slot: days that one more bench hour would save, and lines it would let in}."""
    return {
        str(slot): {
            "days": str(proposal.prices.get(slot, 0)),
            "lines": str(proposal.lets_in.get(slot, 0)),
        }
        for slot in proposal.prices.keys() | proposal.lets_in.keys()
        if isinstance(slot, int)
    }


def _checks(plan: Plan, rows: Sequence[PlanRow]) -> list[dict[str, Any]]:
    lines = [
        Planned(
            row.line.position, row.activity, row.planned_on, row.outage_id, row.hours, row.status
        )
        for row in rows
    ]
    found = plan_checks(lines, site=plan.site_id, from_on=plan.from_on, to_on=plan.to_on)
    return [
        {
            "kind": check.kind,
            "words": check.words,
            "positions": list(check.positions),
            "on": check.planned_on.isoformat() if check.planned_on else None,
            "grave": check.is_grave,
        }
        for check in found
    ]


def _job(row: PlanRow) -> PlannedJob:
    line = row.line
    return PlannedJob(
        position_id=line.position,
        obligation_id=line.obligation,
        unit_id=line.unit,
        device_id=line.device,
        activity=row.activity,
        due_on=row.due_on,
        order_on=row.due_on or FIRST,
        deferred_until=line.until,
        severity=row.severity,
        covered_by=row.covered_by,
        hours=row.hours,
        status=row.status,
        outage_id=row.outage_id,
        planned_on=row.planned_on,
        days_given_up=row.days_given_up,
        days_late=row.days_late,
        reason=row.reason,
    )


@audit.writing()
def accept(plan: Plan, *, by: User, at: datetime, note: str = "") -> Plan:
    """Put a proposal in force, if what it rests on still stands. Raises Refused: `plan`."""
    stored = Plan.objects.select_related("site").get(pk=plan.pk)
    is_open = stored.proposed_at is not None and stored.accepted_at is None
    if is_open and (changes := changed_since(stored)):
        words = f"a proposal that knows what has changed since: {'; '.join(changes)}"
        raise Refused([Fault("plan", f"plan {plan.pk}", words, code="stale")])
    return plans.accept(stored, by=by, at=at, note=note)


def changed_since(plan: Plan) -> list[str]:
    """What is not as the proposal took it to be, in words; empty where all of it stands."""
    work = work_of(plan.site, plan.from_on, plan.to_on, clock.today())
    return differences(list(plan.jobs.all()), work)
