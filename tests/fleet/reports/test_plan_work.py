"""What a plan rests on: visits of several lines, hours offered, work on stream and what protects.

The protection rule is 49 CFR 192.743's: capacity is looked at again when a device is out; who may
isolate is the site's own procedure (common practice).
"""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.calc.outages import Line, Slot, propose
from fleet.calc.visits import Owed, bundled
from fleet.models import PositionDuty
from fleet.reports.plan_rows import rows_of
from fleet.reports.plan_slots import offered
from fleet.reports.plan_work import work_of
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.planned import FROM, TO, outage, site_with


def slot(name, day, **extra):
    return Slot(name, day, Decimal(100), **extra)


def owed(activity, due_on):
    return Owed(Line(activity, due_on), activity)


def tags(visits):
    return [[each.activity for each in visit] for visit in visits]


SPRING, AUTUMN = date(2027, 4, 1), date(2027, 10, 1)
SLOTS = [slot("spring", SPRING), slot("autumn", AUTUMN)]


def test_one_visit_serves_what_its_largest_activity_does():
    later = [owed("bench_test", date(2028, 1, 1)), owed("overhaul", date(2027, 11, 1))]
    assert tags(bundled(later, SLOTS)) == [["overhaul", "bench_test"]]


def test_a_smaller_line_does_not_pull_the_larger_one_forward():
    apart = [owed("bench_test", date(2027, 5, 1)), owed("overhaul", date(2027, 11, 1))]
    assert tags(bundled(apart, SLOTS)) == [["overhaul"], ["bench_test"]]


def test_what_no_slot_serves_holds_nothing_back():
    hopeless = [owed("bench_test", date(2027, 1, 1)), owed("overhaul", date(2027, 11, 1))]
    assert tags(bundled(hopeless, SLOTS)) == [["overhaul"], ["bench_test"]]


def test_late_inside_its_leave_it_still_goes_with_the_larger_one():
    """Where that outage is the first it can have; not where an earlier one would be less late."""
    late = Owed(Line("b", date(2027, 3, 1), date(2028, 1, 1)), "bench_test")
    in_spring = owed("overhaul", date(2027, 5, 1))
    in_autumn = owed("overhaul", date(2027, 12, 1))
    assert tags(bundled([late, in_spring], SLOTS)) == [["overhaul", "bench_test"]]
    assert tags(bundled([late, in_autumn], SLOTS)) == [["overhaul"], ["bench_test"]]


def test_two_rules_for_one_activity_are_one_visit():
    same = [owed("bench_test", date(2027, 11, 1)), owed("bench_test", date(2027, 12, 1))]
    assert tags(bundled(same, SLOTS)) == [["bench_test", "bench_test"]]


def test_what_a_disc_change_does_not_do_is_a_visit_of_its_own():
    unlike = [owed("disc_change", date(2027, 11, 1)), owed("bench_test", date(2027, 11, 1))]
    assert len(bundled(unlike, SLOTS)) == 2


@pytest.mark.parametrize(
    ("total", "weekly", "days", "expected"),
    [
        (None, None, 7, None),
        (Decimal(40), None, 7, Decimal(40)),
        (None, Decimal(10), 8, Decimal(20)),
        (Decimal(40), Decimal(10), 21, Decimal(30)),
        (Decimal(25), Decimal(10), 21, Decimal(25)),
    ],
)
def test_an_outage_offers_its_total_within_what_its_weeks_can_take(total, weekly, days, expected):
    row = factories.OutageFactory.build(
        site=None,
        starts_on=date(2027, 4, 1),
        ends_on=date(2027, 4, days),
        bench_hours=total,
        weekly_hours=weekly,
    )
    assert offered(row) == expected


@pytest.fixture
def unit(settings, db):
    settings.FIXED_TODAY = plant.TODAY
    return site_with()


def isolated(unit, tag, due_on, *, rated=None, required=None, isolation="changeover"):
    place = plant.due(unit, tag, due_on).position
    factories.PositionDutyFactory(
        position=place,
        from_on=date(2020, 1, 1),
        isolation=isolation,
        required_capacity=required,
    )
    device = place.installations.get().device
    device.rated_capacity = rated
    device.save()
    return place


def arranged(unit, *places, kind="changeover", roles=("duty", "standby")):
    joined = factories.ArrangementFactory(site=unit.site, kind=kind)
    for place, role in zip(places, roles, strict=True):
        factories.ArrangementMemberFactory(position=place, arrangement=joined, role=role)


def told(unit):
    work = work_of(unit.site, FROM, TO)
    return {row.tag: row for row in rows_of(work, propose(work.problem))}


def test_a_changeover_is_offered_weeks_and_one_of_the_pair_at_a_time(unit):
    pair = [
        isolated(unit, tag, date(2027, 3, 3), rated="5000 kg/h", required="4000 kg/h")
        for tag in ("A", "B")
    ]
    arranged(unit, *pair)
    rows = told(unit)
    assert {row.status for row in rows.values()} == {"online"}
    assert rows["A"].planned_on != rows["B"].planned_on
    assert "at least the required 4000 kg/h" in rows["A"].reason


def test_work_that_would_strip_the_protection_is_not_offered_on_stream(unit):
    pair = [
        isolated(unit, tag, date(2027, 3, 3), rated="3000 kg/h", required="4000 kg/h")
        for tag in ("A", "B")
    ]
    arranged(unit, *pair, kind="multiple", roles=("duty", "additional"))
    rows = told(unit)
    assert {row.status for row in rows.values()} == {"no_opportunity"}
    assert "not offered on stream" in rows["A"].reason and "less than" in rows["A"].reason


def test_what_is_not_known_is_said_and_permits_nothing(unit):
    isolated(unit, "A", date(2027, 3, 3))
    row = told(unit)["A"]
    assert row.status == "online" and "check first" in row.reason


def test_a_pair_of_which_figures_are_missing_is_never_out_in_one_week(unit):
    pair = [isolated(unit, tag, date(2027, 3, 3), required="4000 kg/h") for tag in ("A", "B")]
    arranged(unit, *pair)
    rows = told(unit)
    assert {row.status for row in rows.values()} == {"online"}
    assert rows["A"].planned_on != rows["B"].planned_on


def test_changeovers_that_no_arrangement_names_hold_back_only_those_of_their_unit(unit):
    """A pair stands in one unit: of those of a unit any two might be one (house rule, careful)."""
    other = factories.UnitFactory(site=unit.site)
    for tag, where in (("A", unit), ("B", unit), ("C", other)):
        isolated(where, tag, date(2027, 3, 3))
    rows = told(unit)
    weeks = {tag: row.planned_on for tag, row in rows.items()}
    assert weeks["A"] != weeks["B"] and weeks["C"] == max(weeks.values())


def test_all_that_one_position_owes_is_done_while_its_device_is_out_once(unit):
    place = isolated(unit, "A", date(2027, 3, 3))
    device = place.installations.get().device
    plant.owed(place, activity="disc_change", due_on=date(2027, 3, 3), device=device)
    work = work_of(unit.site, FROM, TO)
    rows = rows_of(work, propose(work.problem))
    assert len(rows) == 2 and len({row.planned_on for row in rows}) == 1


def test_a_block_valve_alone_offers_nothing(unit):
    isolated(unit, "A", date(2027, 3, 3), isolation="block")
    assert told(unit)["A"].status == "no_opportunity"


def test_the_shop_s_own_week_takes_no_more_than_it_offers(unit):
    unit.site.weekly_bench_hours = Decimal(8)
    unit.site.save()
    for tag in ("A", "B"):
        isolated(unit, tag, date(2027, 3, 3))
    rows = told(unit)
    assert rows["A"].planned_on != rows["B"].planned_on


def test_a_lever_lift_needs_no_outage_and_goes_with_a_visit_that_does_it(unit):
    outage(unit, "Spring", date(2027, 4, 1))
    place = plant.due(unit, "A", date(2027, 5, 1)).position
    device = place.installations.get().device
    plant.owed(place, activity="lever", due_on=date(2027, 4, 20), device=device)
    plant.owed(place, activity="visual", due_on=date(2027, 4, 20), device=device)
    work = work_of(unit.site, FROM, TO)
    rows = {row.activity: row for row in rows_of(work, propose(work.problem))}
    assert rows["lever"].outage == "Spring" and rows["lever"].covered_by == "bench_test"
    assert rows["visual"].status == "online" and rows["visual"].planned_on == date(2027, 4, 20)


def test_hours_nobody_gave_are_missing_and_said(unit):
    outage(unit, "Spring", date(2027, 4, 1))
    plant.owed(plant.position(unit, "A"), activity="overhaul", due_on=date(2027, 5, 1))
    row = told(unit)["A"]
    assert row.hours is None and "nobody has said how many bench hours" in row.reason


def test_reading_the_work_costs_the_same_for_three_lines_and_thirty(unit):
    outage(unit, "Spring", date(2027, 4, 1))

    def queries(count):
        for number in range(count):
            isolated(unit, f"P-{count}-{number}", date(2027, 5, 1))
        with CaptureQueriesContext(
            connection,
        ) as seen:
            work_of(unit.site, FROM, TO)
        return len(seen)

    assert queries(3) == queries(30)


def test_the_isolation_in_force_on_the_day_decides(unit):
    place = isolated(unit, "A", date(2027, 3, 3), isolation="none")
    factories.PositionDutyFactory(
        position=place, isolation=PositionDuty.Isolation.CHANGEOVER, from_on=date(2027, 1, 1)
    )
    assert told(unit)["A"].status == "no_opportunity"
