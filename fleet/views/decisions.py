"""Deciding an interval: what it would change is shown before anything is written."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.actions.decisions import decide, interval_in_force, takes_decision, why_undecided
from fleet.drawings.axis import TimeAxis, axis_head, day_words
from fleet.drawings.interval_line import OutageSpan, interval_line
from fleet.faults import Refused
from fleet.forms.decisions import DecisionForm
from fleet.models import IntervalDecision, Obligation
from fleet.reports.due import DueList
from fleet.reports.prospect import Prospect, Said, prospect
from fleet.reports.reasons import activity_words
from fleet.views.guard import needs, require


@needs(permissions.DECIDE_INTERVAL)
def interval_decide(request, pk):
    """The first press shows the date it would give; the second, on what was shown, decides."""
    owed = _owed(request.user, pk)
    form = DecisionForm(request.POST or None, today=clock.today())
    shown, status = None, 422 if form.is_bound else 200
    if request.method == "POST" and form.is_valid():
        decision = form.decision(owed)
        faults = why_undecided(decision, by=request.user, on=clock.today())
        form.refuse(faults)
        if not faults:
            due = DueList(clock.today(), request.user)
            shown, status = prospect(decision, by=request.user, seen=due.seen), 200
            if form.has_seen(shown.token) and _decided(request, decision, form):
                return redirect("position", owed.position_id)
            form.show(shown.token)
    context = {
        "owed": owed,
        "form": form,
        "takes_decision": takes_decision(owed),
        "in_force": interval_in_force(owed, clock.today()),
        "shown": shown,
        **_drawn(request.user, owed, shown),
    }
    return render(request, "fleet/interval_decide.html", context, status=status)


def _owed(user, pk: int) -> Obligation:
    rows = Obligation.objects.visible_to(user)
    owed = get_object_or_404(rows.select_related("position__unit", "position__site", "rule"), pk=pk)
    require(user, permissions.DECIDE_INTERVAL, owed.position.site_id)
    return owed


def _decided(request, decision: IntervalDecision, form: DecisionForm) -> bool:
    try:
        decide(decision, by=request.user, at=clock.now())
    except Refused as refused:
        form.refuse(refused.faults)
        return False
    what, place = activity_words(decision.obligation.activity), decision.obligation.position
    words = f"Decided: the {what} of {place} from {day_words(decision.from_on)}."
    messages.success(request, words)
    return True


def _drawn(user, owed: Obligation, shown: Prospect | None) -> dict:
    """The two answers on one axis."""
    if shown is None:
        return {}
    due = DueList(clock.today(), user)
    axis = TimeAxis.around(due.as_of)
    chances = due.seen.chances.of(owed.position.unit_id)
    outages = [OutageSpan(c.starts_on, c.ends_on, c.name) for c in chances]

    def row(words: str, said: Said | None) -> tuple:
        line = said and interval_line(
            axis, said.last_on, said.due_on, due.as_of, outages, None, said.status
        )
        return words, said, line

    return {
        "axis_head": axis_head(axis, due.as_of),
        "answers": [row("As it stands", shown.before), row("As decided", shown.after)],
    }
