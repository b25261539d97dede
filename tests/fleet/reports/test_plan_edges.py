"""The edges of a plan: its last day, a deferral's last day, a freeze's first, several visits at one
position, words that were lifted."""

from datetime import date
from decimal import Decimal

import pytest

from fleet.actions import plans
from fleet.calc.outages import CHANGES, propose
from fleet.models import HandPlacing
from fleet.reports.plan_online import weeks_of
from fleet.reports.plan_rows import rows_of
from fleet.reports.plan_work import work_of
from tests import factories
from tests.factories import RECORDED_AT as AT
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, outage, site_with

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit(settings, monkeypatch):
    settings.FIXED_TODAY = plant.TODAY
    monkeypatch.setattr("fleet.jobs.start", lambda job: None)
    return site_with()


def told(unit):
    work = work_of(unit.site, FROM, TO)
    return {(row.tag, row.activity): row for row in rows_of(work, propose(work.problem))}


def test_what_is_due_on_the_last_day_is_planned_and_a_day_later_is_not(unit):
    plant.due(unit, "A", TO)
    plant.due(unit, "B", date(2028, 11, 1))
    assert [tag for tag, _ in told(unit)] == ["A"]


def test_a_deferral_reaches_its_last_day_beyond_the_plan(unit):
    """An outage after the plan's last day takes what has leave until the day it begins."""
    starts = date(2028, 12, 1)
    outage(unit, "Winter", starts)
    for tag, until in (("A", starts), ("B", date(2028, 11, 30))):
        owed = plant.due(unit, tag, date(2028, 10, 1))
        factories.DeferralFactory(
            obligation=owed, due_on=date(2028, 10, 1), until_on=until, approved_on=date(2026, 10, 1)
        )
        plant.stamp_lines([owed.position])
    rows = told(unit)
    row = rows["A", "bench_test"]
    assert (row.status, row.days_late, row.outage) == ("late", 61, "Winter")
    assert rows["B", "bench_test"].status == "no_opportunity"


def test_a_pin_holds_for_those_visits_of_its_position_that_its_outage_can_serve(unit):
    """A disc change does no bench test: two visits. The pin does not make the earlier one fail."""
    first, second = (
        outage(unit, "First", date(2027, 2, 1)),
        outage(unit, "Second", date(2027, 6, 1)),
    )
    outage(unit, "Third", date(2027, 10, 1))
    place = plant.due(unit, "A", date(2027, 3, 1)).position
    plant.owed(place, activity="disc_change", due_on=date(2027, 12, 1))
    planner = factories.MembershipFactory(site=unit.site, role="planner").user
    plans.settle(place, second, HandPlacing.Kind.PIN, "the crane", by=planner, at=AT)
    rows = told(unit)
    assert rows["A", "bench_test"].outage == first.name
    assert rows["A", "disc_change"].outage == second.name


def test_a_pin_that_was_lifted_is_not_obeyed(unit):
    early = outage(unit, "Early", date(2027, 3, 1))
    outage(unit, "Late", date(2027, 9, 1))
    place = plant.due(unit, "A", date(2027, 10, 1)).position
    planner = factories.MembershipFactory(site=unit.site, role="planner").user
    pin = plans.settle(place, early, HandPlacing.Kind.PIN, "the crane", by=planner, at=AT)
    plans.lift([pin], by=planner, at=AT)
    assert told(unit)["A", "bench_test"].outage == "Late"


@pytest.mark.parametrize(("frozen_on", "is_taken"), [(FROM, False), (date(2026, 11, 1), True)])
def test_a_scope_is_frozen_from_its_very_day_on(unit, frozen_on, is_taken):
    spring = outage(unit, "Spring", date(2027, 5, 1), freeze_on=frozen_on)
    factories.PlanFactory(site=unit.site, accepted_at=AT, accepted_by=factories.UserFactory())
    plant.due(unit, "A", date(2027, 6, 1))
    assert (told(unit)["A", "bench_test"].outage == spring.name) == is_taken


def test_a_lever_lift_that_is_late_already_is_planned_for_the_first_day(unit):
    plant.owed(plant.position(unit, "A"), activity="lever", due_on=date(2026, 10, 21))
    row = told(unit)["A", "lever"]
    assert (row.status, row.planned_on, row.days_late) == ("online", FROM, 10)


def test_a_lever_lift_due_before_the_visit_does_not_wait_for_it(unit):
    outage(unit, "Spring", date(2027, 4, 1))
    place = plant.due(unit, "A", date(2027, 5, 1)).position
    plant.owed(place, activity="lever", due_on=date(2027, 3, 31))
    row = told(unit)["A", "lever"]
    assert (row.status, row.planned_on, row.covered_by) == ("online", date(2027, 3, 31), "")


def test_weeks_begin_on_mondays_and_leave_out_those_an_outage_touches(unit):
    """31 October 2026 is a Saturday (ISO 8601 calendar)."""
    unit.site.weekly_bench_hours = Decimal(8)
    end = outage(unit, "A", date(2026, 11, 10), ends_on=date(2026, 11, 16), bench_hours=Decimal(8))
    weeks = weeks_of(unit.site, FROM, date(2026, 11, 30), [end])
    assert [week.planned_on for week in weeks] == [
        FROM, date(2026, 11, 2), date(2026, 11, 23), date(2026, 11, 30)
    ]  # fmt: skip


def test_an_outage_that_offers_hours_by_the_week_alone_takes_the_shop_too(unit):
    rows = [
        outage(
            unit,
            "By the week",
            date(2026, 11, 2),
            ends_on=date(2026, 11, 8),
            weekly_hours=Decimal(40),
        ),
        outage(
            unit, "Nothing", date(2026, 11, 9), ends_on=date(2026, 11, 15), bench_hours=Decimal(0)
        ),
        outage(unit, "Nobody said", date(2026, 11, 16), ends_on=date(2026, 11, 22)),
    ]
    weeks = weeks_of(unit.site, date(2026, 11, 2), date(2026, 11, 29), rows)
    assert [week.planned_on.day for week in weeks] == [9, 16, 23]


def test_a_shop_that_offers_nothing_in_an_ordinary_week_offers_no_weeks(unit):
    unit.site.weekly_bench_hours = Decimal(0)
    assert weeks_of(unit.site, FROM, TO, []) == []


def test_who_has_a_week_in_the_plan_in_force_keeps_it(unit):
    place = plant.due(unit, "A", date(2027, 3, 3)).position
    factories.PositionDutyFactory(position=place, from_on=date(2020, 1, 1), isolation="changeover")
    week = told(unit)["A", "bench_test"].planned_on
    plan = factories.PlanFactory(site=unit.site)
    factories.PlannedJobFactory(
        plan=plan, obligation=place.obligations.get(), status="online", planned_on=week
    )
    plan.accepted_at, plan.accepted_by = AT, factories.UserFactory()
    plan.save()
    assert propose(work_of(unit.site, FROM, TO).problem).goal(CHANGES).value == 0
