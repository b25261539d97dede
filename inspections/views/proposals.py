"""Proposals: what calls for another interval, and how a named engineer answers it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet import clock, permissions
from fleet.actions.decisions import outlook, takes_decision
from fleet.actions.proposals import accept, decline, why_not_accepted
from fleet.calc.units import parse_duration
from fleet.drawings.axis import day_words
from fleet.faults import Refused
from fleet.forms.proposals import AcceptForm, DeclineForm
from fleet.listing import export_asked, paged
from fleet.models import IntervalDecision, Obligation, Proposal
from fleet.reports.due import DueList
from fleet.reports.reasons import activity_words
from fleet.views.due import exports_of
from fleet.views.guard import needs, require
from inspections.filters import ProposalFilter
from inspections.reports.proposals import COLUMNS, ProposalList, rows_about
from inspections.tables.proposals import ProposalTable, age_of, reason_of, source_of


@needs(permissions.READ)
def proposals(request):
    """Every proposal that waits, the oldest first; or those that were answered."""
    asks = ProposalFilter(request.GET, user=request.user)
    listing = ProposalList(DueList(clock.today(), request.user), asks.ask())
    exported = export_asked(request, "proposals", COLUMNS, listing.every_row)
    if exported:
        return exported
    context = {
        "table": paged(request, ProposalTable(listing, has_sites=asks.has_sites)),
        "asks": asks,
        "all": listing.count(),
        "exports": exports_of(request),
    }
    return render(request, "inspections/proposals.html", context)


@needs(permissions.READ)
def proposal(request, pk):
    """One proposal: what happened, what is owed meanwhile, and the two ways to answer."""
    return _page(request, _proposal(request, pk))


@needs(permissions.ANSWER_PROPOSAL)
@require_POST
def proposal_accept(request, pk):
    """Decide another interval; or, with `show`, say what date it would give."""
    row = _proposal(request, pk)
    require(request.user, permissions.ANSWER_PROPOSAL, row.position.site_id)
    form = AcceptForm(request.POST, owed=_owed(row), today=clock.today())
    if not form.is_valid():
        return _page(request, row, accepting=form, status=422)
    decision = form.decision(f"{row.get_kind_display()}, {row.source}")
    if "show" in request.POST:
        return _shown(request, row, form, decision)
    try:
        accept(row, decision, by=request.user, at=clock.now())
    except Refused as refused:
        form.refuse(refused.faults)
        return _page(request, row, accepting=form, status=422)
    what, interval = decision.obligation.activity, parse_duration(decision.interval).words
    words = f"{activity_words(what).capitalize()} at {row.position}: decided on {interval}"
    messages.success(request, f"{words} from {day_words(decision.from_on)}.")
    return redirect("position", row.position_id)


def _shown(request, row: Proposal, form: AcceptForm, decision: IntervalDecision):
    """What the decision would do; nothing is written."""
    faults = why_not_accepted(row, decision, by=request.user, on=clock.today())
    form.refuse(faults)
    readable = not any(fault.field in ("obligation", "interval", "from_on") for fault in faults)
    shown = outlook(decision) if readable else None
    return _page(request, row, accepting=form, shown=shown, status=422 if faults else 200)


@needs(permissions.ANSWER_PROPOSAL)
@require_POST
def proposal_decline(request, pk):
    """Leave the interval as it is, for a reason."""
    row = _proposal(request, pk)
    require(request.user, permissions.ANSWER_PROPOSAL, row.position.site_id)
    form = DeclineForm(request.POST)
    if form.is_valid():
        try:
            decline(row, form.cleaned_data["reason"], by=request.user, at=clock.now())
        except Refused as refused:
            form.refuse(refused.faults)
        else:
            messages.success(request, f"Declined: the interval at {row.position} stays.")
            return redirect("proposals")
    return _page(request, row, declining=form, status=422)


def _proposal(request, pk) -> Proposal:
    rows = Proposal.objects.visible_to(request.user)
    links = ("position__site", "position__unit", "answered_by", "decision__obligation")
    return get_object_or_404(rows.select_related(*links), pk=pk)


def _owed(row: Proposal) -> list[Obligation]:
    """What is owed at the position, today or later, of which a decision may set the interval."""
    rows = Obligation.objects.filter(position=row.position_id).exclude(until_on__lte=clock.today())
    ordered = rows.select_related("rule", "position").order_by("pk")
    return [owed for owed in ordered if takes_decision(owed)]


def _page(request, row: Proposal, *, accepting=None, declining=None, shown=None, status=200):
    [said] = rows_about([row], DueList(clock.today(), request.user))
    owed = _owed(row)
    context = {
        "proposal": row,
        "said": said,
        "reason": reason_of(row),
        "source": source_of(said),
        "age": age_of(said),
        "others": _others(row),
        "may_answer": row.answered_on is None
        and request.user.may(permissions.ANSWER_PROPOSAL, row.position.site_id),
        "accepting": accepting or AcceptForm(owed=owed, today=clock.today()),
        "takes_decision": bool(owed),
        "declining": declining or DeclineForm(),
        "shown": shown,
    }
    return render(request, "inspections/proposal.html", context, status=status)


def _others(row: Proposal) -> list[Proposal]:
    """The other proposals of the position, the open ones first."""
    rows = Proposal.objects.filter(position=row.position_id).exclude(pk=row.pk)
    ordered = rows.select_related("answered_by").order_by("-raised_on")
    return sorted(ordered, key=lambda other: other.answered_on is not None)
