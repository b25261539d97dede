"""Plans of outages: asked for, proposed, accepted; pins and bars; scope asked for late."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from fleet import audit, clock, permissions
from fleet.faults import Fault, Refused
from fleet.models import (
    HandPlacing,
    Job,
    LateScope,
    Outage,
    Plan,
    PlannedJob,
    Position,
    Site,
    User,
)

KIND = "plan_outages"  # of the background job
NOT_DIGESTED = ("id", "plan")  # of a line: how the database knows it


@dataclass(frozen=True)
class Outcome:
    """What the solver says of a proposal, as it is kept; see `Plan`."""

    entry: int
    solver_status: str
    goals: list[dict[str, Any]]
    prices: dict[str, dict[str, str]]
    checks: list[dict[str, Any]]
    seconds: Decimal


@audit.writing()
def ask(site: Site, from_on: date, to_on: date, *, by: User, at: datetime) -> Plan:
    """A plan to be worked out after the one in force, and the job that waits to do it.

    Raises Refused: fault names `to_on`.
    """
    if to_on < from_on:
        raise Refused([Fault("to_on", str(to_on), f"a day on or after {from_on}")])
    in_force = Plan.objects.in_force().filter(site=site).first()
    job = Job.objects.create(kind=KIND, asked_by=by, asked_at=at)
    plan = Plan.objects.create(
        site=site,
        from_on=from_on,
        to_on=to_on,
        follows=in_force,
        job=job,
        recorded_at=at,
        recorded_by=by,
    )
    job.arguments = {"plan": plan.pk}
    job.save(update_fields=["arguments"])
    audit.record([audit.change("plan asked for", plan)], by=by, at=at)
    return plan


@audit.writing()
def propose(
    plan: Plan, jobs: Sequence[PlannedJob], outcome: Outcome, *, by: User, at: datetime
) -> Plan:
    """Write what was worked out: all of it or nothing. `jobs` are unsaved.

    Raises Refused: fault names `plan`, where another process was first or it was discarded.
    """
    if not Plan.objects.filter(pk=plan.pk, proposed_at=None).exists():
        raise Refused([Fault("plan", f"plan {plan.pk}", "a plan not worked out yet")])
    for job in jobs:
        job.plan = plan
    PlannedJob.objects.bulk_create(jobs, batch_size=500)
    plan.entry, plan.solver_status = outcome.entry, outcome.solver_status
    plan.goals, plan.prices, plan.seconds = outcome.goals, outcome.prices, outcome.seconds
    plan.checks = outcome.checks
    plan.proposed_at, plan.digest = at, digest_of(jobs)
    plan.save()
    audit.record([audit.change("plan proposed", plan)], by=by, at=at)
    return plan


def digest_of(jobs: Sequence[PlannedJob]) -> str:
    """SHA-256 over every line of a plan, in the order of what is owed."""
    ordered = sorted(jobs, key=lambda job: job.obligation_id)
    fields = [f for f in PlannedJob._meta.concrete_fields if f.name not in NOT_DIGESTED]
    rows = [[audit.plain_value(field, job) for field in fields] for job in ordered]
    return hashlib.sha256(audit.canonical(rows).encode()).hexdigest()


@audit.writing()
def accept(plan: Plan, *, by: User, at: datetime, note: str = "") -> Plan:
    """Put a proposal in force: whole, and only while the plan it was made after still is.

    Raises Refused: fault names `plan`.
    """
    stored = Plan.objects.select_related("site", "follows", "accepted_by").get(pk=plan.pk)
    if faults := against_accepting(stored, by):
        raise Refused(faults)
    stored.accepted_at, stored.accepted_by, stored.note = at, by, note.strip()
    stored.save()
    audit.record([audit.change("plan accepted", stored)], by=by, at=at)
    return stored


def against_accepting(stored: Plan, by: User) -> list[Fault]:
    """Everything that keeps this person from putting a plan in force; empty where nothing."""
    name = f"plan {stored.pk}"
    if not by.may(permissions.PLAN_OUTAGES, stored.site_id):
        return [Fault("plan", name, "a planner of this site accepts a plan", code="no_right")]
    if stored.accepted_at is not None:
        return [Fault("plan", name, f"{stored.accepted_by} has accepted it already")]
    if stored.proposed_at is None:
        return [Fault("plan", name, "a plan that has been worked out")]
    in_force = Plan.objects.in_force().filter(site=stored.site_id).first()
    if (in_force and in_force.pk) != stored.follows_id:
        words = f"the plan in force; meanwhile {in_force.accepted_by} accepted plan {in_force.pk}"
        words = f"a proposal made after {words}: propose again" if in_force else words
        return [Fault("plan", name, words, code="stale")]
    return []


@audit.writing()
def discard(plan: Plan, *, by: User, at: datetime) -> None:
    """Throw away a proposal nobody accepted. Raises Refused: fault names `plan`."""
    stored = Plan.objects.get(pk=plan.pk)
    if stored.accepted_at is not None:
        raise Refused([Fault("plan", f"plan {stored.pk}", "an accepted plan is never deleted")])
    gone = Plan(pk=stored.pk)
    stored.delete()
    audit.record([audit.change("plan discarded", stored.site, gone=[gone])], by=by, at=at)


@audit.writing()
def settle(
    position: Position, outage: Outage, kind: str, reason: str, *, by: User, at: datetime
) -> HandPlacing:
    """Pin a position to an outage or bar it from one; what was said before of the two is lifted.

    Raises Refused: faults name `outage`, `reason` or `planner`.
    """
    faults = _of_planner(outage, by)
    if not reason.strip():
        faults.append(Fault("reason", "", "say why, for whoever plans after you"))
    if not outage.unit_links.filter(unit=position.unit_id).exists():
        words = f"an outage of {position.unit}, in which {position} stands"
        faults.append(Fault("outage", outage.name, words))
    if kind == HandPlacing.Kind.PIN and outage.bench_hours == 0:
        faults.append(Fault("outage", outage.name, "an outage that offers bench hours"))
    if faults:
        raise Refused(faults)
    standing = HandPlacing.objects.standing().filter(position=position)
    old = list(standing.filter(outage=outage))
    if kind == HandPlacing.Kind.PIN:
        old += standing.filter(kind=kind).exclude(outage=outage)
    _lift(old, by=by, at=at)
    placing = HandPlacing.objects.create(
        position=position,
        outage=outage,
        kind=kind,
        reason=reason.strip(),
        recorded_at=at,
        recorded_by=by,
    )
    audit.record([audit.change(f"position {kind}", placing)], by=by, at=at)
    return placing


def _of_planner(outage: Outage, by: User) -> list[Fault]:
    if by.may(permissions.PLAN_OUTAGES, outage.site_id):
        return []
    return [Fault("planner", by.name, "a planner of this site", code="no_right")]


@audit.writing()
def lift(placings: Sequence[HandPlacing], *, by: User, at: datetime) -> None:
    """End pins and bars; those that are lifted already stay as they are."""
    fresh = HandPlacing.objects.standing().filter(pk__in=[placing.pk for placing in placings])
    _lift(list(fresh), by=by, at=at)


def _lift(placings: Sequence[HandPlacing], *, by: User, at: datetime) -> None:
    for placing in placings:
        placing.lifted_at, placing.lifted_by = at, by
        placing.save()
    changes = [audit.change(f"{placing.kind} lifted", placing) for placing in placings]
    audit.record(changes, by=by, at=at)


@audit.writing()
def ask_late_scope(
    position: Position, outage: Outage, reason: str, *, by: User, at: datetime
) -> LateScope:
    """Ask work at a position into an outage whose scope is frozen.

    Raises Refused: faults name `reason`, `outage` or `planner`.
    """
    faults = _of_planner(outage, by)
    if not reason.strip():
        faults.append(Fault("reason", "", "say why it cannot wait for another outage"))
    if outage.freeze_on is None or outage.freeze_on > clock.day_of(at):
        faults.append(Fault("outage", outage.name, "an outage whose scope is frozen by now"))
    if not outage.unit_links.filter(unit=position.unit_id).exists():
        words = f"an outage of {position.unit}, in which {position} stands"
        faults.append(Fault("outage", outage.name, words))
    before = LateScope.objects.filter(position=position, outage=outage)
    if before.exclude(answer=LateScope.Answer.REFUSED).exists():
        faults.append(Fault("outage", outage.name, f"{position} was asked into it already"))
    if faults:
        raise Refused(faults)
    asked = LateScope.objects.create(
        position=position, outage=outage, reason=reason.strip(), recorded_at=at, recorded_by=by
    )
    audit.record([audit.change("late scope asked for", asked)], by=by, at=at)
    return asked


@audit.writing()
def answer_late_scope(
    asked: LateScope, answer: str, words: str, *, by: User, at: datetime
) -> LateScope:
    """Approve or refuse scope asked for late; another person than the one who asked.

    Raises Refused: faults name `answer` or `answer_words`.
    """
    stored = LateScope.objects.select_related("outage", "answered_by").get(pk=asked.pk)
    faults = against_answering(stored, by)
    if answer == LateScope.Answer.REFUSED and not words.strip():
        faults.append(Fault("answer_words", "", "say why it is refused"))
    if faults:
        raise Refused(faults)
    stored.answer, stored.answer_words = answer, words.strip()
    stored.answered_at, stored.answered_by = at, by
    stored.save()
    audit.record([audit.change(f"late scope {answer}", stored)], by=by, at=at)
    return stored


def against_answering(stored: LateScope, by: User) -> list[Fault]:
    """Why this person may not answer it; empty where nothing stands against."""
    if stored.answered_at is not None:
        return [Fault("answer", "", f"{stored.answered_by} has {stored.answer} it already")]
    faults = []
    if stored.recorded_by_id == by.pk:
        words = "another person than the one who asked answers for late scope"
        faults.append(Fault("answer", by.name, words, code="own_request"))
    if not by.may(permissions.APPROVE_LATE_SCOPE, stored.outage.site_id):
        words = "an engineer of this site answers for late scope"
        faults.append(Fault("answer", by.name, words, code="no_right"))
    return faults
