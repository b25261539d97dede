"""Two planners accept two proposals in the same moment: one is in force, the other is told."""

from fleet import planning
from fleet.faults import Refused
from fleet.models import Plan
from tests import factories
from tests.factories import RECORDED_AT as AT
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, site_with
from tests.fleet.test_writers import at_once, on_postgres, together


@at_once
@on_postgres
def test_two_plans_accepted_at_once_leave_one_in_force(settings, monkeypatch):
    settings.FIXED_TODAY = plant.TODAY
    monkeypatch.setattr("fleet.jobs.start", lambda job: None)
    site = site_with().site
    planner = factories.MembershipFactory(site=site, role="planner").user
    plans = [planning.ask(site, FROM, TO, by=planner, at=AT) for _ in range(2)]
    for plan in plans:
        planning.plan_job(plan.job, lambda *beat: None, at=AT)

    def accept(plan):
        try:
            return planning.accept(plan, by=planner, at=AT).pk
        except Refused as refused:
            return refused.faults[0].expected

    said = together(*(lambda plan=plan: accept(plan) for plan in plans))
    in_force = Plan.objects.in_force().get()
    assert in_force.pk in said and any("propose again" in str(words) for words in said)
