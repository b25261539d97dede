"""The scope of an outage by date, its hours, and what moving it makes late."""

from datetime import date
from decimal import Decimal

import pytest

from fleet.reports.due import Ask, DueList
from fleet.reports.moves import moved
from fleet.reports.outages import COLUMNS, covered_by, scope_of, scopes
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


def outage(unit, starts_on, name="", **extra):
    return factories.OutageFactory(
        site=unit.site,
        units=[unit],
        starts_on=starts_on,
        ends_on=starts_on.replace(day=28),
        **({"name": name} if name else {}),
        **extra,
    )


def standings(row, **extra):
    scope = scope_of(row, DueList(TODAY), **extra)
    return {work.line.tag: work.standing for work in scope.work}


def test_each_line_is_in_the_scope_of_the_last_outage_that_serves_it(unit):
    first, second = outage(unit, date(2027, 5, 1)), outage(unit, date(2028, 5, 1))
    plant.due(unit, "OVERDUE", date(2026, 10, 1))
    plant.due(unit, "LATE", date(2027, 4, 30))
    plant.due(unit, "ON-THE-DAY", date(2027, 5, 1))
    plant.due(unit, "EVE-OF-NEXT", date(2028, 4, 30))
    plant.due(unit, "DAY-OF-NEXT", date(2028, 5, 1))
    plant.owed(plant.position(unit, "UNKNOWN"), state="no_record")
    assert standings(first) == {
        "OVERDUE": "overdue",
        "LATE": "late",
        "ON-THE-DAY": "in_time",
        "EVE-OF-NEXT": "in_time",
        "UNKNOWN": "no_record",
    }
    assert standings(second) == {"DAY-OF-NEXT": "in_time"}


def test_the_due_list_filtered_by_an_outage_is_its_scope(unit):
    row = outage(unit, date(2027, 5, 1))
    plant.due(unit, "IN", date(2027, 6, 1))
    plant.due(unit, "BEYOND", date(2029, 6, 1))
    listed = DueList(TODAY, ask=Ask(outage=row.pk)).rows()
    assert [r.tag for r in listed] == list(standings(row)) == ["IN"]


def test_where_no_later_outage_is_planned_the_scope_ends_at_a_day_that_is_said(unit):
    row = outage(unit, date(2027, 5, 1))
    plant.due(unit, "WITHIN", date(2029, 5, 1))
    plant.due(unit, "BEYOND", date(2029, 5, 2))
    scope = scope_of(row, DueList(TODAY))
    assert scope.ends_on == date(2029, 5, 1) and scope.open_units == [unit]
    assert standings(row) == {"WITHIN": "in_time"}
    assert standings(row, until=date(2030, 1, 1)) == {"WITHIN": "in_time", "BEYOND": "in_time"}


def test_other_units_and_other_sites_are_not_in_scope(unit):
    row = outage(unit, date(2027, 5, 1))
    plant.due(factories.UnitFactory(site=unit.site), "OTHER", date(2027, 6, 1))
    assert standings(row) == {}


def test_hours_are_those_of_the_kind_else_of_any_and_missing_stays_missing(unit):
    row = outage(unit, date(2027, 5, 1), bench_hours=Decimal("5"))
    factories.JobHoursFactory(activity="bench_test", kind="", hours="4.00")
    factories.JobHoursFactory(activity="bench_test", kind="pilot", hours="12.50")
    plant.due(unit, "ANY", date(2027, 6, 1))
    plant.due(unit, "PILOT", date(2027, 6, 1), kind="pilot")
    plant.due(unit, "DISC", date(2027, 6, 1), activity="disc_change")
    scope = scope_of(row, DueList(TODAY))
    assert {w.line.tag: w.hours for w in scope.work} == {
        "ANY": Decimal("4.00"),
        "DISC": None,
        "PILOT": Decimal("12.50"),
    }
    assert scope.hours_needed == Decimal("16.50")
    assert scope.missing_hours == 1
    assert scope.hours_short == Decimal("11.50")


def test_nothing_offered_is_not_nought(unit):
    scope = scope_of(outage(unit, date(2027, 5, 1)), DueList(TODAY))
    assert scope.outage.bench_hours is None and scope.hours_short is None


def test_an_overhaul_does_the_bench_test_of_the_same_position_too(unit):
    row = outage(unit, date(2027, 5, 1))
    factories.JobHoursFactory(activity="bench_test", hours="4.00")
    factories.JobHoursFactory(activity="overhaul", hours="10.00")
    place = plant.position(unit, "PSV-1")
    device = plant.fitted(place)
    for activity in ("overhaul", "bench_test"):
        plant.owed(place, activity=activity, due_on=date(2027, 6, 1), device=device)
    scope = scope_of(row, DueList(TODAY))
    assert scope.hours_needed == Decimal("10.00")
    assert {w.line.activity: w.covered_by for w in scope.work} == {
        "overhaul": "",
        "bench_test": "overhaul",
    }


@pytest.mark.parametrize(
    ("activity", "here", "covered"),
    [
        ("lever", {"lever", "bench_test", "overhaul"}, "overhaul"),
        ("overhaul", {"lever", "bench_test", "overhaul"}, ""),
        ("visual", {"visual", "overhaul"}, ""),  # a shop test sees nothing of the piping
        ("bench_test", {"bench_test", "in_place_test"}, ""),  # API RP 576 6.3
    ],
)
def test_what_one_activity_does_for_another_is_the_table_of_activities(activity, here, covered):
    assert covered_by(activity, here) == covered


def test_a_line_inside_its_deferral_is_late_but_allowed(unit):
    row = outage(unit, date(2027, 5, 1))
    obligation = plant.due(unit, "PSV-1", date(2027, 3, 1))
    factories.DeferralFactory(
        obligation=obligation, due_on=date(2027, 3, 1), until_on=date(2027, 6, 1)
    )
    plant.stamp_lines([obligation.position])
    [work] = scope_of(row, DueList(TODAY)).work
    assert (work.standing, work.days_late) == ("deferred", 61)


def test_moving_an_outage_says_which_lines_are_left_without_one(unit):
    row = outage(unit, date(2027, 6, 1), name="Spring")
    plant.due(unit, "LOST", date(2027, 5, 15))
    plant.due(unit, "KEPT", date(2027, 6, 15))
    plant.due(unit, "ON-STREAM", date(2027, 5, 15), activity="lever")
    touched = moved(row, (date(2027, 5, 1), date(2027, 5, 20)), DueList(TODAY))
    assert [(m.row.tag, m.before.name, m.after, m.is_lost) for m in touched] == [
        ("LOST", "Spring", None, True)
    ]


def test_a_line_that_falls_back_on_an_earlier_outage_is_named_with_it(unit):
    outage(unit, date(2027, 2, 1), name="Winter")
    row = outage(unit, date(2027, 6, 1), name="Spring")
    plant.due(unit, "PSV-1", date(2027, 5, 15))
    [touched] = moved(row, (date(2027, 5, 1), date(2027, 5, 20)), DueList(TODAY))
    assert (touched.before.name, touched.after.name, touched.is_lost) == ("Spring", "Winter", False)


def test_every_line_is_in_one_scope_however_many_outages(unit, django_assert_num_queries):
    rows = [outage(unit, date(2027 + n, 5, 1), name=f"O{n}") for n in range(3)]
    for n in range(12):
        plant.due(unit, f"PSV-{n:02}", date(2026 + n // 3, 11, 1 + n))
    due = DueList(TODAY)
    with django_assert_num_queries(10):  # 3 x units of an outage; outages of units; stale stamps;
        found = scopes(rows, due)  # lines; kinds; hours; once more units for those still open
        assert all(scope.open_units == [] for scope in found[:2])
    tags = [work.line.tag for scope in found for work in scope.work]
    assert len(tags) == len(set(tags)) == 12


def test_a_scope_is_exported_with_every_column(unit):
    row = outage(unit, date(2027, 5, 1), name="Spring")
    plant.due(unit, "PSV-1", date(2027, 6, 1), number="N-1")
    [line] = scope_of(row, DueList(TODAY)).as_dicts()
    assert tuple(line) == COLUMNS
    assert (line["outage"], line["tag"], line["device"]) == ("Spring", "PSV-1", "N-1")
