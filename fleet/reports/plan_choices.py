"""One line of a plan explained: every outage it might go to, with what that would cost."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from fleet.models import HandPlacing, Outage, Plan, PlannedJob
from fleet.reports.chances import still_serving
from fleet.reports.leave import Case, Reach, case_of
from fleet.reports.plan_hand import is_frozen, scope_of
from fleet.reports.plan_slots import offered


@dataclass(frozen=True)
class Choice:
    """An outage as one visit's place.

    days: good interval it gives up, over every line of the visit; late: days after the earliest
    due date. free: hours left there by this plan, without the visit itself; None = no limit known.
    """

    outage: Outage
    planned_on: date
    days: int
    late: int
    free: Decimal | None
    hours: Decimal
    is_here: bool
    is_allowed: bool
    placing: HandPlacing | None
    is_frozen: bool

    @property
    def fits(self) -> bool:
        return self.free is None or self.hours <= self.free

    @property
    def is_open(self) -> bool:
        """Could take the visit as things stand."""
        is_barred = self.placing is not None and self.placing.kind == HandPlacing.Kind.BAR
        return self.is_allowed and self.fits and not is_barred and not self.is_frozen


@dataclass(frozen=True)
class Explained:
    """lines: the visit's, the largest first; next_best: the open choice that costs least more.

    case: the leave that might be asked for, where the line has no opportunity.
    """

    job: PlannedJob
    lines: Sequence[PlannedJob]
    choices: Sequence[Choice]
    case: Case | None = None
    today: date | None = None

    @property
    def here(self) -> Choice | None:
        return next((choice for choice in self.choices if choice.is_here), None)

    @property
    def serves_until(self) -> date | None:
        """The last day an outage more could begin on and still serve it; None where none is left,
        and where it has no date at all."""
        days = [day for day in (self.job.due_on, self.job.deferred_until) if day]
        last = max(days, default=None)
        return None if last is None or (self.today and last < self.today) else last

    @property
    def is_past(self) -> bool:
        """It has a date, and neither that nor its leave is still to come."""
        return self.job.due_on is not None and self.serves_until is None

    @property
    def waits(self) -> int:
        """Days between the plan's choice and the next best, of what has no date to give up."""
        best, here = self.next_best, self.job.planned_on
        if best is None or here is None or any(line.due_on for line in self.lines):
            return 0
        return abs((best.planned_on - here).days)

    @property
    def is_sooner(self) -> bool:
        best, here = self.next_best, self.job.planned_on
        return best is not None and here is not None and best.planned_on < here

    @property
    def first_late(self) -> Choice | None:
        """The first outage that begins after the due date."""
        return next((choice for choice in self.choices if choice.late), None)

    @property
    def reaching(self) -> list[Reach]:
        """Policies under which leave may be asked up to that outage's first day."""
        if self.case is None or not self.case.may_be_asked or self.first_late is None:
            return []
        day = self.first_late.planned_on
        return [
            reach
            for reach in self.case.reaches
            if not reach.allows_nothing
            and (reach.limit.until_on is None or reach.limit.until_on >= day)
        ]

    @property
    def next_best(self) -> Choice | None:
        others = [choice for choice in self.choices if choice.is_open and not choice.is_here]
        return min(others, key=lambda c: (c.late, c.days, c.planned_on), default=None)

    @property
    def extra_days(self) -> int | None:
        """What the next best gives up beyond what the plan does."""
        best = self.next_best
        return best.days - sum(line.days_given_up or 0 for line in self.lines) if best else None

    @property
    def saved_days(self) -> int:
        """What the next best would give up less, where a hand has settled it otherwise."""
        return -min(self.extra_days or 0, 0)


def explained(job: PlannedJob, today: date) -> Explained:
    """About eight queries."""
    plan = job.plan
    lines = _visit(job)
    outages = Outage.objects.filter(still_serving(plan.from_on), units=job.unit_id)
    used = _used(plan)
    placings = {
        placing.outage_id: placing
        for placing in HandPlacing.objects.standing()
        .filter(position=job.position_id)
        .select_related("recorded_by")
    }
    scope = _scope(plan)
    choices = []
    for outage in outages.order_by("starts_on", "pk"):
        taken = scope.get(outage.pk)
        frozen = is_frozen(outage, today) and taken is not None and job.position_id not in taken
        choices.append(_choice(outage, plan, lines, used, placings.get(outage.pk), frozen))
    is_left_out = job.status == PlannedJob.Status.NO_OPPORTUNITY
    case = case_of(job.obligation, today) if is_left_out else None
    return Explained(job, lines, choices, case, today)


def _visit(job: PlannedJob) -> list[PlannedJob]:
    """The lines done in one go with this one, the largest first."""
    rows = job.plan.jobs.filter(position=job.position_id, planned_on=job.planned_on)
    same = [row for row in rows.select_related("outage") if row.outage_id == job.outage_id]
    if job.planned_on is None:
        main = job.covered_by or job.activity
        same = [row for row in same if main in (row.activity, row.covered_by)]
    return sorted(same, key=lambda row: (row.covered_by != "", row.pk))


def _used(plan: Plan) -> dict[int, Decimal]:
    rows = plan.jobs.exclude(outage=None).values("outage").annotate(needed=Sum("hours"))
    return {row["outage"]: row["needed"] or Decimal() for row in rows}


def _scope(plan: Plan) -> Mapping[int, frozenset[int]]:
    """What each outage takes by the plan in force, and what was approved since; of a site without
    one, nothing is held back."""
    in_force = Plan.objects.in_force().filter(site=plan.site_id).first()
    return scope_of(in_force) if in_force else {}


def _choice(
    outage: Outage,
    plan: Plan,
    lines: Sequence[PlannedJob],
    used: dict[int, Decimal],
    placing: HandPlacing | None,
    frozen: bool,
) -> Choice:
    day = max(outage.starts_on, plan.from_on)
    hours = sum((line.hours or Decimal() for line in lines), Decimal())
    is_here = lines[0].outage_id == outage.pk
    room = offered(outage)
    taken = used.get(outage.pk, Decimal()) - (hours if is_here else Decimal())
    dues = [line.due_on for line in lines if line.due_on]
    return Choice(
        outage=outage,
        planned_on=day,
        days=sum(max((due - day).days, 0) for due in dues),
        late=max([(day - due).days for due in dues] + [0]),
        free=None if room is None else room - taken,
        hours=hours,
        is_here=is_here,
        is_allowed=all(_serves(line, day) for line in lines),
        placing=placing,
        is_frozen=frozen,
    )


def _serves(line: PlannedJob, day: date) -> bool:
    if line.due_on is None or day <= line.due_on:
        return True
    return line.deferred_until is not None and day <= line.deferred_until
