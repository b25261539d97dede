"""What happens beside a proposal: people's words, a freeze, a job that died; what accepting and
planning again make of it."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from fleet import planning
from fleet.actions import plans
from fleet.actions.outages import offer_weekly
from fleet.faults import Refused
from fleet.models import HandPlacing, Job, Plan
from fleet.reports.plan_choices import explained
from tests import factories
from tests.factories import RECORDED_AT as AT
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, outage, site_with

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings, monkeypatch):
    settings.FIXED_TODAY = plant.TODAY
    monkeypatch.setattr("fleet.jobs.start", lambda job: None)


@pytest.fixture
def unit():
    return site_with(hours="8")


@pytest.fixture
def planner(unit):
    return factories.MembershipFactory(site=unit.site, role="planner").user


def worked_out(unit, by) -> Plan:
    plan = planning.ask(unit.site, FROM, TO, by=by, at=AT)
    planning.plan_job(plan.job, lambda *beat: None, at=AT)
    plan.refresh_from_db()
    return plan


def refused(plan, by) -> str:
    with pytest.raises(Refused) as raised:
        planning.accept(plan, by=by, at=AT)
    assert not Plan.objects.accepted().filter(pk=plan.pk).exists()
    return str(raised.value.faults[0].expected)


def test_a_pin_said_since_stands_in_the_way_of_accepting(unit, planner):
    early = outage(unit, "Early", date(2027, 3, 1))
    outage(unit, "Late", date(2027, 9, 1))
    owed = plant.due(unit, "A", date(2027, 10, 1))
    plan = worked_out(unit, planner)
    plans.settle(owed.position, early, HandPlacing.Kind.PIN, "the crane", by=planner, at=AT)
    assert "A is pinned to Early" in refused(plan, planner)
    planning.accept(worked_out(unit, planner), by=planner, at=AT)


def test_a_position_that_stands_in_another_unit_now_is_planned_anew(unit, planner):
    outage(unit, "Spring", date(2027, 5, 1))
    place = plant.due(unit, "A", date(2027, 6, 1)).position
    plan = worked_out(unit, planner)
    place.unit = factories.UnitFactory(site=unit.site)
    place.save()
    plant.stamp_lines([place])
    assert "1 line stands in another unit now" in refused(plan, planner)


def test_without_a_plan_in_force_a_freeze_holds_nothing_back(unit, planner):
    early = outage(unit, "Early", date(2027, 3, 1), freeze_on=date(2026, 10, 1))
    outage(unit, "Late", date(2027, 9, 1))
    plant.due(unit, "A", date(2027, 10, 1))
    job = worked_out(unit, planner).jobs.get()
    choice = explained(job, plant.TODAY).next_best
    assert choice is not None and choice.outage == early


def test_what_was_approved_late_is_frozen_no_longer(unit, planner):
    spring = outage(unit, "Spring", date(2027, 5, 1), freeze_on=date(2026, 10, 1))
    planning.accept(worked_out(unit, planner), by=planner, at=AT)
    place = plant.due(unit, "A", date(2027, 6, 1)).position
    job = worked_out(unit, planner).jobs.get()
    assert [c.is_frozen for c in explained(job, plant.TODAY).choices] == [True]
    asked = plans.ask_late_scope(place, spring, "it leaks", by=planner, at=AT)
    engineer = factories.MembershipFactory(site=unit.site, role="engineer").user
    plans.answer_late_scope(asked, "approved", "", by=engineer, at=AT)
    assert [c.is_frozen for c in explained(job, plant.TODAY).choices] == [False]


NOW = datetime(2026, 10, 31, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("state", "result", "is_asked"),
    [
        ("waiting", {}, False),
        ("running", {}, False),
        ("cancelled", {}, True),
        ("failed", {"error": "MemoryError"}, True),
        ("done", {"conflicts": ["Spring offers 8 h"]}, False),
    ],
)
def test_only_what_is_under_way_or_waits_for_people_keeps_a_plan_from_being_made_again(
    unit, planner, state, result, is_asked
):
    planning.accept(worked_out(unit, planner), by=planner, at=AT)
    plant.due(unit, "A", date(2027, 6, 1))
    other = planning.ask(unit.site, FROM, TO, by=planner, at=AT)
    Job.objects.filter(pk=other.job_id).update(state=state, result=result)
    again = planning.again_if_overtaken(unit.site, by=planner, at=NOW)
    assert (again is not None) == is_asked


def test_nothing_is_made_again_where_nothing_happened(unit, planner):
    plant.due(unit, "A", date(2027, 6, 1))
    planning.accept(worked_out(unit, planner), by=planner, at=AT)
    assert planning.again_if_overtaken(unit.site, by=planner, at=NOW) is None
    plant.due(unit, "B", date(2027, 6, 1))
    offer_weekly(unit.site, Decimal(40), by=planner, at=AT)  # what moves lines is on the chain
    assert planning.again_if_overtaken(unit.site, by=planner, at=NOW) is not None
