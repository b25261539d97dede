"""The plan in force on the demo's last day: three years of the main site."""

from datetime import datetime

from fleet import clock, planning
from fleet.actions import plans
from fleet.calc.units import parse_duration
from fleet.models import HandPlacing, Job, Outage, Position, Site, User
from inspections.demo.sheets import SITE
from inspections.demo.sign_ins import SIGN_INS

YEARS = parse_duration("P3Y")
PINNED, TO, WHY = "PSV-5701", "Boiler house 2027", "Its vessel is opened for inspection then."


def plan_the_outages(*, at: datetime) -> None:
    planner = User.objects.get(username=SIGN_INS[0].username)
    site, today = Site.objects.get(name=SITE), clock.day_of(at)
    position = Position.objects.get(site=site, tag=PINNED)
    outage = Outage.objects.get(site=site, name=TO)
    plans.settle(position, outage, HandPlacing.Kind.PIN, WHY, by=planner, at=at)
    plan = plans.ask(site, today, YEARS.after(today), by=planner, at=at)
    result = planning.plan_job(plan.job, lambda *beat: None, at=at)
    Job.objects.filter(pk=plan.job_id).update(state=Job.State.DONE, result=result, ended_at=at)
    planning.accept(plan, by=planner, at=at, note="Agreed with the units on 29 October.")
