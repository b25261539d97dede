"""Plans: asked for, looked at, compared with the one in force, accepted."""

from decimal import Decimal

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from fleet import clock, jobs, permissions, planning
from fleet.actions import plans
from fleet.calc.outages import (
    CHANGES,
    GIVEN_UP,
    LATE,
    LEVEL,
    UNPLACED,
    UNPLACED_MODERATE,
    UNPLACED_SEVERE,
    WAITED,
    Week,
)
from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.plan_lane import Apart, Vessel, plan_lane
from fleet.drawings.week_bars import Hours, week_bars
from fleet.faults import Refused
from fleet.filters import PlanFilter
from fleet.forms.plans import AcceptForm, ProposeForm
from fleet.listing import export_asked, paged, sort_asked
from fleet.models import Job, LateScope, Plan
from fleet.reports.plan_moves import moves
from fleet.reports.plan_rows import COLUMNS
from fleet.reports.plan_since import since
from fleet.reports.plans import SORTS, Figures, PlanJobs, Take, apart_of, takes_of, units_of
from fleet.tables import PlanTable
from fleet.views.due import exports_of
from fleet.views.guard import needs, require

RUNNING = (Job.State.WAITING, Job.State.RUNNING)
SHOWN = 40  # units and outages on one page; the filter by unit leads to the others
LINKS = ("site", "recorded_by", "accepted_by", "job", "follows")
GOAL_WORDS = {
    UNPLACED: "lines without an opportunity",
    UNPLACED_SEVERE: "of them in severe service",
    UNPLACED_MODERATE: "of them in moderate service",
    LATE: "days late",
    GIVEN_UP: "days of good interval given up",
    WAITED: "days waited without a record",
    CHANGES: "visits moved against the plan in force",
    LEVEL: "of its hours taken in the fullest outage",
}


@needs(permissions.READ)
def plan_list(request):
    """Of every site the plan in force and the proposals, and where a new one is asked for."""
    rows = Plan.objects.visible_to(request.user).select_related(*LINKS).order_by("-pk")[:60]
    in_force = set(Plan.objects.visible_to(request.user).in_force().values_list("pk", flat=True))
    may_plan = request.user.may(permissions.PLAN_OUTAGES)
    form = ProposeForm(user=request.user, today=clock.today()) if may_plan else None
    late = LateScope.objects.visible_to(request.user).waiting()
    context = {
        "plans": [(row, standing(row, in_force)) for row in rows],
        "form": form,
        "late_scope": late.select_related("position", "outage", "recorded_by"),
        "may_approve": request.user.may(permissions.APPROVE_LATE_SCOPE),
    }
    return render(request, "fleet/plan_list.html", context)


def standing(plan: Plan, in_force: set[int]) -> str:
    """A state of `fleet.drawings.states`."""
    if plan.pk in in_force:
        return "plan_in_force"
    if plan.accepted_at is not None:
        return "replaced"
    if plan.proposed_at is not None:
        return "proposed"
    return "working" if plan.job and plan.job.state in RUNNING else "cancelled"


@needs(permissions.PLAN_OUTAGES)
@require_POST
def plan_propose(request):
    """Ask for a plan; it is worked out in the background."""
    form = ProposeForm(request.POST, user=request.user, today=clock.today())
    if form.is_valid():
        asked = dict(form.cleaned_data)
        site = request.user.memberships.filter(site=asked.pop("site")).first().site
        plan = planning.ask(site, **asked, by=request.user, at=clock.now())
        return redirect("plan", pk=plan.pk)
    return render(request, "fleet/plan_list.html", {"plans": [], "form": form}, status=422)


def _plan(request, pk: int) -> Plan:
    return get_object_or_404(Plan.objects.visible_to(request.user).select_related(*LINKS), pk=pk)


@needs(permissions.READ)
def plan(request, pk):
    """One plan: its figures and what is proved of them, the board, the outages, every line."""
    row = _plan(request, pk)
    if row.proposed_at is None:
        return _working(request, row)
    if request.htmx:  # it was being watched, and has come
        return HttpResponse(headers={"HX-Redirect": reverse("plan", args=[row.pk])})
    asks = PlanFilter(request.GET, user=request.user, plan=row)
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    listing = PlanJobs(row, asks.ask())
    sort = sort_asked(request, SORTS, "due_on")
    exported = export_asked(request, f"plan-{row.pk}", COLUMNS, lambda: listing.as_dicts(sort))
    if exported:
        return exported
    in_force = Plan.objects.in_force().filter(site=row.site_id).first()
    may_plan = request.user.may(permissions.PLAN_OUTAGES, row.site_id)
    stands = standing(row, {in_force.pk} if in_force else set())
    beside = since(row) if stands == "plan_in_force" else None
    unit = asks.asked().get("unit")
    takes = [t for t in takes_of(row) if unit is None or t.takes_from(unit)][:SHOWN]
    context = {
        "plan": row,
        "stands": stands,
        "figures": Figures.of(row),
        "goals": [_goal(goal) for goal in row.goals],
        "takes": [(take, week_bars([_week(week) for week in take.weeks])) for take in takes],
        "board": board(row, takes, unit),
        "since": beside,
        "asks": asks,
        "table": paged(request, PlanTable(listing, is_in_force=beside is not None)),
        "exports": exports_of(request),
        "may_plan": may_plan,
        "accept": AcceptForm() if may_plan and stands == "proposed" else None,
        "in_force": in_force,
        "today": clock.today(),
    }
    return render(request, "fleet/plan.html", context)


def _goal(goal: dict) -> dict:
    said = {**goal, "words": GOAL_WORDS[goal["name"]]}
    if goal["name"] == LEVEL:
        said |= {name: f"{Decimal(goal[name]):.0%}" for name in ("value", "bound")}
    return said


def board(row: Plan, takes: list[Take], unit: int | None) -> dict:
    """The drawn board: one lane a unit over one axis; of very many units the first."""
    every = [one for one in units_of(row) if unit in (None, one.pk)]
    units = every[:SHOWN]
    ends = max([row.to_on, *(take.outage.ends_on for take in takes)])
    axis = TimeAxis.spanning([row.from_on, ends], before=0.05, after=0.04)
    apart = apart_of(row)
    lanes = []
    for unit in units:
        here = [take for take in takes if unit in take.outage.units.all()]
        vessels = [_vessel(take) for take in here]
        alone = [Apart(month, number, kind) for month, kind, number in apart.get(unit.pk, ())]
        lanes.append((unit, plan_lane(axis, row.from_on, unit.name, vessels, alone)))
    more = len(every) - len(units)
    return {"head": axis_head(axis, row.from_on), "lanes": lanes, "more": more}


def _vessel(take: Take) -> Vessel:
    outage = take.outage
    href = f"?outage={outage.pk}&work=any#lines"
    days = (outage.starts_on, outage.ends_on)
    return Vessel(*days, outage.name, href, take.jobs, take.needed, take.offered, take.late)


def _week(week: Week) -> Hours:
    return Hours(week.from_on, week.until_on, week.needed, week.offered)


def _working(request, row: Plan):
    """A plan that is being worked out: how far it is, or why it did not come."""
    job = row.job
    at = clock.now()
    if job is not None and (jobs.is_stale(job) or jobs.is_forgotten(job, at=at)):
        jobs.again(job, at=at)
        job.refresh_from_db()
    context = {
        "plan": row,
        "job": job,
        "is_running": job is not None and job.state in RUNNING,
        "beat": jobs.read_beat(job.pk) if job else None,
        "conflicts": (job.result or {}).get("conflicts", []) if job else [],
        "may_plan": request.user.may(permissions.PLAN_OUTAGES, row.site_id),
    }
    part = "plan_state.html" if request.htmx else "plan_working.html"
    return render(request, f"fleet/{part}", context)


@needs(permissions.READ)
def plan_compare(request, pk):
    """What a proposal moves against the plan it would follow, and why."""
    row = _plan(request, pk)
    before = row.follows
    context = {
        "plan": row,
        "before": before,
        "moves": moves(before, row) if before and row.proposed_at else [],
    }
    return render(request, "fleet/plan_compare.html", context)


@needs(permissions.PLAN_OUTAGES)
@require_POST
def plan_accept(request, pk):
    row = _mine(request, pk)
    form = AcceptForm(request.POST)
    note = form.cleaned_data["note"] if form.is_valid() else ""
    try:
        planning.accept(row, by=request.user, at=clock.now(), note=note)
    except Refused as refused:
        for fault in refused.faults:
            messages.error(request, f"Not accepted: expected {fault.expected}.")
    else:
        messages.success(request, f"Plan {row.pk} is in force.")
    return redirect("plan", pk=row.pk)


@needs(permissions.PLAN_OUTAGES)
@require_POST
def plan_discard(request, pk):
    row = _mine(request, pk)
    try:
        plans.discard(row, by=request.user, at=clock.now())
    except Refused as refused:
        messages.error(request, f"Not discarded: {refused.faults[0].expected}.")
        return redirect("plan", pk=row.pk)
    messages.success(request, f"Plan {pk} is discarded.")
    return redirect("plan_list")


@needs(permissions.PLAN_OUTAGES)
@require_POST
def plan_cancel(request, pk):
    row = _mine(request, pk)
    if row.job and row.job.state in RUNNING:
        jobs.cancel(row.job, at=clock.now())
    return redirect("plan", pk=row.pk)


def _mine(request, pk: int) -> Plan:
    row = _plan(request, pk)
    require(request.user, permissions.PLAN_OUTAGES, row.site_id)
    return row
