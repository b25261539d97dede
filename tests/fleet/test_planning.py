"""A plan from what is due to what is in force: worked out, kept, accepted, overtaken."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction

from fleet import planning
from fleet.actions import plans
from fleet.faults import Refused
from fleet.models import AuditEntry, HandPlacing, Job, Outage, Plan
from fleet.reports.plan_moves import moves
from fleet.reports.plan_since import since
from fleet.reports.proof import differences
from fleet.stamps import stamp_lines
from tests import factories
from tests.factories import RECORDED_AT as AT
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, outage, site_with

TODAY = datetime(2026, 10, 31, 12, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings, monkeypatch):
    settings.FIXED_TODAY = plant.TODAY
    monkeypatch.setattr("fleet.jobs.start", lambda job: None)  # worked out here, not beside


@pytest.fixture
def unit():
    return site_with(hours="8")


@pytest.fixture
def planner(unit):
    return factories.MembershipFactory(site=unit.site, role="planner").user


def worked_out(site, by, to_on=TO) -> Plan:
    plan = planning.ask(site, FROM, to_on, by=by, at=AT)
    result = planning.plan_job(plan.job, lambda *beat: None, at=AT)
    plan.refresh_from_db()
    assert "conflicts" not in result, result
    return plan


def accepted(site, by) -> Plan:
    return planning.accept(worked_out(site, by), by=by, at=AT)


def places(plan) -> dict[str, str]:
    rows = plan.jobs.select_related("position", "outage")
    return {job.position.tag: str(job.outage or job.status) for job in rows}


def test_a_plan_takes_the_last_outage_in_time_and_keeps_within_its_hours(unit, planner):
    outage(unit, "Spring", date(2027, 5, 1), bench_hours="8")
    outage(unit, "Autumn", date(2027, 10, 1), bench_hours="8")
    plant.due(unit, "A", date(2027, 11, 1))
    plant.due(unit, "B", date(2027, 12, 1))
    plant.due(unit, "C", date(2027, 4, 30))
    plan = worked_out(unit.site, planner)
    assert places(plan) == {"A": "Autumn", "B": "Spring", "C": "no_opportunity"} or places(
        plan
    ) == {"A": "Spring", "B": "Autumn", "C": "no_opportunity"}
    assert plan.solver_status == "optimal" and plan.goals[0]["name"] == "unplaced"
    assert plans.digest_of(list(plan.jobs.all())) == plan.digest


def test_the_digest_is_of_what_the_database_holds(unit, planner):
    """A line that another does takes no hours: 0 as it is worked out, 0.00 as it is read back."""
    outage(unit, "Spring", date(2027, 5, 1))
    place = plant.due(unit, "A", date(2027, 6, 1)).position
    plant.owed(place, activity="in_place_test", due_on=date(2027, 5, 30))
    plan = worked_out(unit.site, planner)
    assert sorted(str(job.hours) for job in plan.jobs.all()) == ["0.00", "8.00"]
    assert plans.digest_of(list(plan.jobs.all())) == plan.digest


def test_the_database_refuses_a_second_plan_after_the_same_one(unit, planner):
    first, second = worked_out(unit.site, planner), worked_out(unit.site, planner)
    planning.accept(first, by=planner, at=AT)
    with pytest.raises(Refused, match="propose again"):
        planning.accept(second, by=planner, at=AT)
    with pytest.raises(IntegrityError), transaction.atomic():
        Plan.objects.filter(pk=second.pk).update(accepted_at=AT, accepted_by=planner)
    assert list(Plan.objects.in_force()) == [first]


def test_an_accepted_plan_is_never_changed_or_deleted(unit, planner):
    outage(unit, "Spring", date(2027, 5, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    plan = accepted(unit.site, planner)
    for change in (
        lambda: plan.jobs.update(hours=1),
        lambda: plan.jobs.all().delete(),
        lambda: Plan.objects.filter(pk=plan.pk).update(note="x"),
    ):
        with pytest.raises(Exception), transaction.atomic():  # noqa: B017 - each database its own
            change()
    with pytest.raises(Refused):
        plans.discard(plan, by=planner, at=AT)


def test_a_proposal_nobody_accepted_can_be_thrown_away(unit, planner):
    plant.due(unit, "A", date(2027, 6, 1))
    plan = worked_out(unit.site, planner)
    plans.discard(plan, by=planner, at=AT)
    assert not Plan.objects.exists()
    assert AuditEntry.objects.latest("number").action == "plan discarded"


def test_what_has_changed_since_stands_in_the_way_of_accepting(unit, planner):
    row = outage(unit, "Spring", date(2027, 5, 1), bench_hours="20")
    plant.due(unit, "A", date(2027, 6, 1))
    plan = worked_out(unit.site, planner)
    row.starts_on, row.bench_hours = date(2027, 5, 3), "4"
    row.save()
    plant.due(unit, "B", date(2027, 7, 1))
    with pytest.raises(Refused) as refused:
        planning.accept(plan, by=planner, at=AT)
    words = str(refused.value.faults[0].expected)
    assert "1 line has come into its days" in words
    assert "Spring begins on 2027-05-03 now" in words and "only 4 bench hours" in words
    assert Plan.objects.in_force().count() == 0


def test_somebody_without_the_right_accepts_nothing(unit, planner):
    mechanic = factories.MembershipFactory(site=unit.site, role="mechanic").user
    with pytest.raises(Refused, match="a planner"):
        planning.accept(worked_out(unit.site, planner), by=mechanic, at=AT)


def test_moving_an_outage_moves_as_little_as_it_can(unit, planner):
    """Two outages that cost the same: who was in which stays there."""
    spring = outage(unit, "Spring", date(2027, 5, 1), bench_hours="8")
    other = factories.OutageFactory(
        site=unit.site, units=[unit], name="Same days", starts_on=spring.starts_on,
        ends_on=spring.ends_on, bench_hours="8",
    )  # fmt: skip
    plant.due(unit, "A", date(2027, 6, 1))
    plant.due(unit, "B", date(2027, 6, 1))
    before = accepted(unit.site, planner)
    for row in (spring, other):
        row.starts_on = date(2027, 5, 3)
        row.save()
    after = worked_out(unit.site, planner)
    assert places(after) == places(before)
    assert [move.kind for move in moves(before, after)] == ["moved", "moved"]  # to its new days
    assert after.follows == before


def test_a_pin_is_obeyed_and_a_bar_too(unit, planner):
    early = outage(unit, "Early", date(2027, 3, 1))
    late = outage(unit, "Late", date(2027, 9, 1))
    owed = [plant.due(unit, tag, date(2027, 10, 1)) for tag in ("A", "B")]
    pin, bar = HandPlacing.Kind.PIN, HandPlacing.Kind.BAR
    plans.settle(owed[0].position, early, pin, "the crane", by=planner, at=AT)
    plans.settle(owed[1].position, late, bar, "no scaffold", by=planner, at=AT)
    plan = worked_out(unit.site, planner)
    assert places(plan) == {"A": "Early", "B": "Early"}
    reasons = {job.position.tag: job.reason for job in plan.jobs.select_related("position")}
    assert "the crane" in reasons["A"] and "no scaffold" in reasons["B"]


def test_pins_that_cannot_hold_are_explained_and_nothing_is_planned(unit, planner):
    row = outage(unit, "Spring", date(2027, 5, 1), bench_hours="8")
    for tag in ("A", "B"):
        owed = plant.due(unit, tag, date(2027, 6, 1))
        plans.settle(owed.position, row, HandPlacing.Kind.PIN, "first", by=planner, at=AT)
    late = plant.due(unit, "C", date(2027, 4, 1))
    plans.settle(late.position, row, HandPlacing.Kind.PIN, "there", by=planner, at=AT)
    plan = planning.ask(unit.site, FROM, TO, by=planner, at=AT)
    result = planning.plan_job(plan.job, lambda *beat: None, at=AT)
    said = " / ".join(result["conflicts"])
    assert "Spring offers 8" in said and "A" in said and "past its due date 2027-04-01" in said
    assert not plan.jobs.exists()


def test_only_a_planner_pins_or_asks_into_a_frozen_outage_of_the_right_unit(unit, planner):
    spring = outage(unit, "Spring", date(2027, 5, 1), freeze_on=date(2099, 1, 1))
    place = plant.due(unit, "A", date(2027, 6, 1)).position
    other = plant.due(factories.UnitFactory(site=unit.site), "B", date(2027, 6, 1)).position
    mechanic = factories.MembershipFactory(site=unit.site, role="mechanic").user
    with pytest.raises(Refused, match="a planner of this site"):
        plans.settle(place, spring, HandPlacing.Kind.PIN, "why", by=mechanic, at=AT)
    with pytest.raises(Refused, match="frozen by now"):
        plans.ask_late_scope(place, spring, "why", by=planner, at=TODAY)
    with pytest.raises(Refused, match="in which B stands"):
        plans.ask_late_scope(other, spring, "why", by=planner, at=TODAY)


def test_a_frozen_outage_takes_nothing_new_without_another_persons_word(unit, planner):
    spring = outage(unit, "Spring", date(2027, 5, 1), freeze_on=date(2026, 10, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    assert places(accepted(unit.site, planner)) == {"A": "Spring"}
    new = plant.due(unit, "B", date(2027, 6, 2))
    assert places(worked_out(unit.site, planner)) == {"A": "Spring", "B": "no_opportunity"}
    asked = plans.ask_late_scope(new.position, spring, "it leaks", by=planner, at=TODAY)
    with pytest.raises(Refused, match="another person"):
        plans.answer_late_scope(asked, "approved", "", by=planner, at=AT)
    engineer = factories.MembershipFactory(site=unit.site, role="engineer").user
    plans.answer_late_scope(asked, "approved", "", by=engineer, at=AT)
    assert places(worked_out(unit.site, planner)) == {"A": "Spring", "B": "Spring"}


def test_a_freeze_still_to_come_holds_nothing_back_whatever_day_is_planned_from(unit, planner):
    outage(unit, "Spring", date(2027, 5, 1), freeze_on=date(2026, 12, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    accepted(unit.site, planner)
    plant.due(unit, "B", date(2027, 6, 2))
    plan = planning.ask(unit.site, date(2027, 1, 1), TO, by=planner, at=AT)
    planning.plan_job(plan.job, lambda *beat: None, at=AT)
    assert places(plan) == {"A": "Spring", "B": "Spring"}


def test_scope_that_froze_since_it_was_proposed_is_not_accepted_unasked(unit, planner, settings):
    spring = outage(unit, "Spring", date(2027, 5, 1), freeze_on=date(2026, 12, 1))
    plant.due(unit, "A", date(2027, 6, 1))
    accepted(unit.site, planner)
    new = plant.due(unit, "B", date(2027, 6, 2))
    plan = worked_out(unit.site, planner)
    settings.FIXED_TODAY = date(2026, 12, 2)
    with pytest.raises(Refused, match=r"closed to 1 position .*frozen since 2026-12-01"):
        planning.accept(plan, by=planner, at=AT)
    asked = plans.ask_late_scope(
        new.position, spring, "it leaks", by=planner, at=TODAY + timedelta(days=40)
    )
    engineer = factories.MembershipFactory(site=unit.site, role="engineer").user
    plans.answer_late_scope(asked, "approved", "", by=engineer, at=AT)
    assert planning.accept(plan, by=planner, at=AT).accepted_at


def test_a_bar_set_since_it_was_proposed_stands_in_the_way(unit, planner):
    spring = outage(unit, "Spring", date(2027, 5, 1))
    owed = plant.due(unit, "A", date(2027, 6, 1))
    plan = worked_out(unit.site, planner)
    plans.settle(owed.position, spring, HandPlacing.Kind.BAR, "no scaffold", by=planner, at=AT)
    with pytest.raises(Refused, match="no scaffold"):
        planning.accept(plan, by=planner, at=AT)
    assert not Plan.objects.in_force().exists()


def test_work_that_was_done_ticks_its_line_off_and_what_is_new_is_named(unit, planner):
    outage(unit, "Spring", date(2027, 5, 1))
    owed = [plant.due(unit, tag, date(2027, 6, 1)) for tag in ("A", "B", "C")]
    plan = accepted(unit.site, planner)
    done = factories.ServiceEventFactory(activity="bench_test", done_on=date(2027, 5, 3))
    move(owed[0], due_on=date(2032, 5, 3), event=done)
    move(owed[1], due_on=date(2027, 2, 1))
    move(owed[2], state="not_required")
    plant.due(unit, "D", date(2027, 7, 1))
    beside = since(plan)
    assert (beside.done, beside.moved, beside.dropped, beside.new_count) == (1, 1, 1, 1)
    assert [line.tag for line in beside.new] == ["D"] and beside.is_stale


def test_an_outage_that_is_not_as_the_plan_took_it_to_be_is_named(unit, planner):
    rows = [outage(unit, name, date(2027, 5, day)) for name, day in (("Spring", 1), ("May", 20))]
    plant.due(unit, "A", date(2027, 5, 10))
    plant.due(unit, "B", date(2027, 6, 1))
    plan = accepted(unit.site, planner)
    Outage.objects.filter(pk=rows[0].pk).update(starts_on=date(2027, 5, 4), bench_hours=0)
    Outage.objects.filter(pk=rows[1].pk).update(status="cancelled")
    assert since(plan).is_stale and since(plan).outages == [
        "Spring begins on 2027-05-04 now",
        "Spring offers 0 h now, and the plan needs 8 h",
        "May is cancelled: it serves nothing now",
    ]


def move(owed, *, state="dated", due_on=None, event=None):
    """Another answer for an obligation, as a replay would leave it."""
    span = owed.spans.get()
    span.superseded_at = AT
    span.save()
    factories.ObligationSpanFactory(
        obligation=owed, from_on=span.from_on, state=state, due_on=due_on, event=event,
        device=span.device, limit="gap",
    )  # fmt: skip
    stamp_lines([owed.position])


def test_the_proof_names_a_plan_whose_lines_were_rewritten(unit, planner):
    plant.due(unit, "A", date(2027, 6, 1))
    plan = worked_out(unit.site, planner)
    assert "plan" not in {difference.kind for difference in differences()}
    plan.jobs.update(due_on=date(2030, 1, 1))
    assert [d.where for d in differences() if d.kind == "plan"] == [f"plan {plan.pk}"]


def test_two_processes_write_one_plan_once(unit, planner):
    plant.due(unit, "A", date(2027, 6, 1))
    plan = worked_out(unit.site, planner)
    with pytest.raises(Refused, match="not worked out yet"):
        planning.plan_job(Job.objects.get(pk=plan.job_id), lambda *beat: None, at=AT)
    assert plan.jobs.count() == 1
