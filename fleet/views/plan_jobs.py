"""One line of a plan: why it goes where it goes, what else it might, and a word of one's own."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet import clock, permissions
from fleet.actions import plans
from fleet.faults import Refused
from fleet.forms.plans import LateAnswerForm, LateScopeForm, SettleForm
from fleet.models import HandPlacing, LateScope, Plan, PlannedJob
from fleet.reports.plan_choices import Explained, explained
from fleet.views.guard import needs, require

LINKS = ("plan__site", "position__unit", "unit", "outage", "device", "obligation__rule")


def _job(request, pk: int) -> PlannedJob:
    rows = PlannedJob.objects.visible_to(request.user).select_related(*LINKS)
    return get_object_or_404(rows, pk=pk)


@needs(permissions.READ)
def plan_job(request, pk):
    """Every outage the line might go to, with what it would cost there."""
    job = _job(request, pk)
    return _shown(request, job, explained(job, clock.today()))


def _shown(request, job: PlannedJob, told: Explained, form: SettleForm | None = None):
    site = job.plan.site_id
    frozen = [choice.outage for choice in told.choices if choice.is_frozen]
    asked = LateScope.objects.filter(position=job.position_id).select_related(
        "outage", "recorded_by", "answered_by"
    )
    context = {
        "job": job,
        "told": told,
        "form": form or SettleForm(outages=[c.outage for c in told.choices]),
        "frozen": frozen,
        "asked": asked,
        "may_plan": request.user.may(permissions.PLAN_OUTAGES, site),
        "may_ask_leave": request.user.may(permissions.REQUEST_DEFERRAL, site),
    }
    status = 422 if form else 200
    return render(request, "fleet/plan_job.html", context, status=status)


@needs(permissions.PLAN_OUTAGES)
@require_POST
def plan_settle(request, pk):
    """Pin the position to an outage, or bar it from one."""
    job = _job(request, pk)
    require(request.user, permissions.PLAN_OUTAGES, job.plan.site_id)
    told = explained(job, clock.today())
    outages = [choice.outage for choice in told.choices]
    form = SettleForm(request.POST, outages=outages)
    if form.is_valid():
        given = form.cleaned_data
        outage = next(one for one in outages if one.pk == given["outage"])
        try:
            plans.settle(
                job.position,
                outage,
                given["kind"],
                given["reason"],
                by=request.user,
                at=clock.now(),
            )
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            messages.success(request, "Kept. The next proposal obeys it.")
            return redirect("plan_job", pk=job.pk)
    return _shown(request, job, told, form)


@needs(permissions.PLAN_OUTAGES)
@require_POST
def placing_lift(request, pk):
    """End a pin or a bar."""
    rows = HandPlacing.objects.visible_to(request.user).select_related("outage", "position")
    placing = get_object_or_404(rows, pk=pk)
    require(request.user, permissions.PLAN_OUTAGES, placing.outage.site_id)
    plans.lift([placing], by=request.user, at=clock.now())
    messages.success(request, f"{placing.position} is free again at {placing.outage}.")
    back = Plan.objects.filter(site=placing.outage.site_id).order_by("-pk").first()
    job = back.jobs.filter(position=placing.position_id).first() if back else None
    return redirect("plan_job", pk=job.pk) if job else redirect("plan_list")


@needs(permissions.PLAN_OUTAGES)
def plan_late_scope(request, pk):
    """Ask the work into an outage whose scope is frozen."""
    job = _job(request, pk)
    require(request.user, permissions.PLAN_OUTAGES, job.plan.site_id)
    told = explained(job, clock.today())
    frozen = [choice.outage for choice in told.choices if choice.is_frozen]
    form = LateScopeForm(request.POST or None, outages=frozen)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        outage = next(one for one in frozen if one.pk == given["outage"])
        try:
            plans.ask_late_scope(
                job.position, outage, given["reason"], by=request.user, at=clock.now()
            )
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            messages.success(request, "Asked: an engineer answers it.")
            return redirect("plan_job", pk=job.pk)
    context = {"job": job, "form": form, "frozen": frozen}
    status = 422 if form.is_bound else 200
    return render(request, "fleet/late_scope_ask.html", context, status=status)


@needs(permissions.APPROVE_LATE_SCOPE)
def late_scope_answer(request, pk):
    """Approve or refuse work asked into a frozen outage; another person than who asked."""
    rows = LateScope.objects.visible_to(request.user)
    links = ("outage__site", "position__unit", "recorded_by", "answered_by")
    asked = get_object_or_404(rows.select_related(*links), pk=pk)
    require(request.user, permissions.APPROVE_LATE_SCOPE, asked.outage.site_id)
    form = LateAnswerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            plans.answer_late_scope(
                asked, given["answer"], given["answer_words"], by=request.user, at=clock.now()
            )
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            messages.success(request, f"{asked.position} into {asked.outage}: answered.")
            return redirect("plan_list")
    context = {
        "asked": asked,
        "form": form,
        "against": plans.against_answering(asked, request.user),
        "is_mine": asked.recorded_by_id == request.user.pk,
    }
    status = 422 if form.is_bound else 200
    return render(request, "fleet/late_scope_answer.html", context, status=status)
