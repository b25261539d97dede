"""What to look at in a plan before it is accepted: checks worked out anew each time."""

from django.shortcuts import get_object_or_404, redirect, render

from fleet import permissions
from fleet.models import Plan, Position
from fleet.reports.plan_checks import SHOWN, lines_of_plan, plan_checks
from fleet.views.guard import needs

KINDS = {
    "protection_short": "protection falls short",
    "capacity_unknown": "capacity not known",
    "spare_lacking": "no spare",
    "quota_short": "group short of its share",
    "hours_not_given": "hours not given",
}


@needs(permissions.READ)
def checks(request, pk):
    """Every check that has something to say, the grave ones first."""
    plan = get_object_or_404(Plan.objects.visible_to(request.user).select_related("site"), pk=pk)
    if plan.proposed_at is None:
        return redirect("plan", pk=plan.pk)
    lines = lines_of_plan(plan)
    found = plan_checks(lines, site=plan.site_id, from_on=plan.from_on, to_on=plan.to_on)
    named = Position.objects.in_bulk({pk for check in found for pk in check.positions[:SHOWN]})
    context = {
        "plan": plan,
        "lines": len(lines),
        "grave": sum(check.is_grave for check in found),
        "rows": [
            (check, KINDS[check.kind], [named[pk] for pk in check.positions[:SHOWN]])
            for check in found
        ],
    }
    return render(request, "fleet/plan_checks.html", context)
