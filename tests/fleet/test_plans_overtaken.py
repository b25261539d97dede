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
from fleet.reports.plan_since import since, with_done_on
from fleet.stamps import stamp_lines
from tests import factories
from tests.factories import RECORDED_AT as AT
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, outage, site_with
from tests.fleet.test_planning import move

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
    asked = plans.ask_late_scope(place, spring, "it leaks", by=planner, at=NOW)
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


def test_what_was_counted_on_its_first_day_before_the_plan_is_not_its_work_done(unit, planner):
    """A plan of years asked for in the evening of a day on which work was signed."""
    outage(unit, "Spring", date(2027, 5, 1))
    owed = plant.due(unit, "A", date(2027, 6, 1))
    today = factories.ServiceEventFactory(activity="bench_test", done_on=FROM)
    move(owed, due_on=date(2028, 10, 31), event=today)
    plan = planning.accept(worked_out(unit, planner), by=planner, at=AT)
    beside = since(plan)
    assert (beside.done, beside.is_stale) == (0, False)
    assert with_done_on(plan.jobs.all()).get().done_on is None


def test_a_line_that_lost_or_won_its_date_has_moved(unit, planner):
    lost, won = plant.due(unit, "A", date(2027, 6, 1)), plant.owed(plant.position(unit, "B"))
    plan = planning.accept(worked_out(unit, planner), by=planner, at=AT)
    move(lost, state="no_record")
    move(won, due_on=date(2027, 3, 1))
    assert (since(plan).moved, since(plan).done, since(plan).dropped) == (2, 0, 0)


def test_leave_given_and_a_unit_changed_have_moved_a_line(unit, planner):
    owed = [plant.due(unit, tag, date(2027, 6, 1)) for tag in ("A", "B")]
    plan = planning.accept(worked_out(unit, planner), by=planner, at=AT)
    factories.DeferralFactory(
        obligation=owed[0], due_on=date(2027, 6, 1), until_on=date(2027, 9, 1)
    )
    place = owed[1].position
    place.unit = factories.UnitFactory(site=unit.site)
    place.save()
    stamp_lines([row.position for row in owed])
    assert since(plan).moved == 2


def test_a_plan_discarded_while_it_is_worked_out_stays_discarded(unit, planner):
    plant.due(unit, "A", date(2027, 6, 1))
    plan = planning.ask(unit.site, FROM, TO, by=planner, at=AT)

    def discarding(doing, *_):
        if doing.startswith("checking"):
            plans.discard(plan, by=planner, at=AT)

    with pytest.raises(Refused, match="not worked out yet"):
        planning.plan_job(plan.job, discarding, at=AT)
    assert not Plan.objects.exists()
