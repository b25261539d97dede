"""Leave to pass a due date: the list, asking for it, and answering."""

from datetime import date

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.actions import deferrals
from fleet.drawings.axis import TimeAxis, axis_head, day_words
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.drawings.scene import Scene
from fleet.faults import Refused
from fleet.filters import LeaveFilter
from fleet.forms.deferrals import AnswerForm, LeaveForm
from fleet.listing import export_asked, paged, sort_asked
from fleet.models import DeferralRequest, Obligation
from fleet.reports.chances import chances_on
from fleet.reports.deferrals import COLUMNS, SORTS, Leaves
from fleet.reports.leave import Case, Reach, case_of
from fleet.tables.deferrals import LeaveTable
from fleet.views.due import exports_of
from fleet.views.guard import needs, require


@needs(permissions.READ)
def deferral_list(request):
    """Open requests first, then leave in force by its end, then what has run out."""
    asks = LeaveFilter(request.GET, user=request.user)
    leaves = Leaves(request.user, clock.today(), asks.ask())
    sort = sort_asked(request, SORTS, "state")
    exported = export_asked(
        request,
        f"deferrals-{leaves.today}",
        COLUMNS,
        lambda: (row.as_dict() for row in leaves.every_row(sort)),
    )
    if exported:
        return exported
    context = {
        "table": paged(request, LeaveTable(leaves)),
        "asks": asks,
        "counts": leaves.counts(),
        "exports": exports_of(request),
    }
    return render(request, "fleet/deferral_list.html", context)


@needs(permissions.REQUEST_DEFERRAL)
def deferral_ask(request, pk):
    """Every policy with the last day it allows; the form of the one that is picked."""
    owed, today = _owed(request.user, pk), clock.today()
    case = case_of(owed, today)
    policy = request.POST.get("policy") or request.GET.get("policy", "")
    picked = case.reach(policy)
    form = LeaveForm(request.POST or None, policy=policy, case=case, until_on=_wished(request))
    if request.method == "POST" and form.is_valid() and _asked(request, owed, form):
        return redirect("deferral_list")
    context = {
        "owed": owed,
        "case": case,
        "form": form,
        "picked": picked,
        **_drawn(owed, case, today),
    }
    status = 422 if form.is_bound else 200
    return render(request, "fleet/deferral_ask.html", context, status=status)


def _wished(request) -> date | None:
    """The day a plan asks leave for, from the address."""
    try:
        return date.fromisoformat(request.GET.get("until_on", ""))
    except ValueError:
        return None


def _owed(user, pk: int) -> Obligation:
    rows = Obligation.objects.visible_to(user)
    owed = get_object_or_404(rows.select_related("position__unit", "position__site", "rule"), pk=pk)
    require(user, permissions.REQUEST_DEFERRAL, owed.position.site_id)
    return owed


def _asked(request, owed: Obligation, form: LeaveForm) -> bool:
    """Ask, and say so; False where it was refused."""
    try:
        asked = deferrals.request(form.wanted(owed), by=request.user, at=clock.now())
    except Refused as refused:
        form.refuse(refused.faults)
        return False
    until = day_words(asked.until_on)
    words = f"Asked for leave at {owed.position} until {until}: another person answers it."
    messages.success(request, words)
    return True


def _drawn(owed: Obligation, case: Case, today: date) -> dict:
    """Each policy with its line, on one axis with the outages of the unit."""
    axis = TimeAxis.around(today)
    chances = chances_on(today).of(owed.position.unit_id)
    outages = [OutageSpan(c.starts_on, c.ends_on, c.name) for c in chances]

    def line(reach: Reach) -> Scene:
        until = None if reach.allows_nothing else reach.limit.until_on
        return interval_line(axis, case.term.last_on, case.term.due_on, today, outages, until)

    ways = [(reach, line(reach)) for reach in case.reaches]
    return {"ways": ways, "axis_head": axis_head(axis, today)}


@needs(permissions.APPROVE_DEFERRAL)
def deferral_answer(request, pk):
    """One request as its policy judges it today, to be approved or refused by another person."""
    rows = DeferralRequest.objects.visible_to(request.user)
    links = ("obligation__position__unit", "obligation__rule", "recorded_by", "answered_by")
    asked = get_object_or_404(rows.select_related(*links), pk=pk)
    owed, today = asked.obligation, clock.today()
    require(request.user, permissions.APPROVE_DEFERRAL, owed.position.site_id)
    form = AnswerForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and _answered(request, asked, form):
        return redirect("deferral_list")
    case = case_of(owed, today)
    context = {
        "asked": asked,
        "owed": owed,
        "form": form,
        "case": case,
        "reach": case.reach(asked.policy),
        "against": deferrals.against(asked, by=request.user, on=today),
        "is_mine": asked.recorded_by_id == request.user.pk,
    }
    status = 422 if form.is_bound else 200
    return render(request, "fleet/deferral_answer.html", context, status=status)


def _answered(request, asked: DeferralRequest, form: AnswerForm) -> bool:
    """Give or refuse it, and say so; False where that was not to be."""
    words, by, at = form.cleaned_data["answer_words"], request.user, clock.now()
    what = f"leave at {asked.obligation.position} until {day_words(asked.until_on)}"
    try:
        if form.cleaned_data["answer"] == form.APPROVE:
            deferrals.approve(asked, by=by, at=at, words=words)
            messages.success(request, f"Approved: {what}.")
        else:
            deferrals.refuse(asked, words, by=by, at=at)
            messages.success(request, f"Refused: {what}.")
    except Refused as refused:
        form.refuse(refused.faults)
        return False
    return True
