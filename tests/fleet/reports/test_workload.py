"""Workload ahead from the tables: what is counted, where it stands, and what is left out."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.calc.loads import month_of
from fleet.models import Site
from fleet.reports.workload import COLUMNS, Workload
from fleet.reports.workload_month import month_rows
from fleet.reports.workload_words import (
    bunching_words,
    heaviest_words,
    hours_words,
    left_out_words,
    load_words,
)
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    factories.JobHoursFactory(activity="bench_test", kind="", hours="4.00")
    factories.JobHoursFactory(activity="bench_test", kind="pilot", hours="7.00")
    return factories.UnitFactory(name="Reformer")


def outage(unit, starts_on, **extra):
    fields = {"site": unit.site, "units": [unit], "starts_on": starts_on, **extra}
    fields.setdefault("ends_on", starts_on.replace(day=28))
    return factories.OutageFactory(**fields)


def under(kind, parameters):
    """What `plant` owes from here on, it owes under such a rule."""
    factories.IntervalRuleFactory(code="own-5y", kind=kind, parameters=parameters)


def days(work=None):
    """Each visit as its tag and day."""
    work = work or Workload(TODAY, 10)
    found = [(work.known.tags[visit.place.key], visit.on) for visit in work.visits()]
    return sorted(found, key=lambda pair: (pair[1], pair[0]))


def site_of(one, **asked):
    (site,) = [s for s in Workload(TODAY, 5, **asked).sites if s.site.pk == one.site_id]
    return site


def test_each_visit_is_in_its_last_outage_and_comes_again(unit):
    """By hand: 5 years after 1 March 2027, where no outage is known yet."""
    outage(unit, date(2027, 3, 1))
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    assert days() == [("PSV-1", date(2027, 3, 1)), ("PSV-1", date(2032, 3, 1))]


def test_a_decision_in_force_sets_what_follows(unit):
    owed = plant.due(unit, "PSV-1", date(2027, 6, 1))
    factories.IntervalDecisionFactory(obligation=owed, from_on=date(2022, 1, 1), interval="P3Y")
    assert [on.year for _, on in days()] == [2027, 2030, 2033, 2036]


def test_drafts_and_cancelled_outages_promise_nothing(unit):
    for number, status in enumerate(("draft", "cancelled"), 1):
        outage(unit, date(2027, number, 1), status=status)
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    assert days()[0] == ("PSV-1", date(2027, 6, 1))


def accepted(unit, owed, **extra):
    plan = factories.PlanFactory(site=unit.site)
    fields = {"due_on": owed.line.due_on, **extra}
    row = factories.PlannedJobFactory(plan=plan, obligation=owed, **fields)
    plan.accepted_at, plan.accepted_by = factories.RECORDED_AT, factories.UserFactory()
    plan.save()
    return row


def test_an_accepted_plan_comes_before_the_last_outage(unit):
    early, late = outage(unit, date(2027, 2, 1)), outage(unit, date(2027, 5, 1))
    owed = plant.due(unit, "PSV-1", date(2027, 6, 1))
    assert days()[0][1] == late.starts_on
    accepted(unit, owed, status="placed", outage=early, planned_on=date(2027, 2, 3))
    assert days()[0][1] == date(2027, 2, 3)
    assert Workload(TODAY, 5).known.planned == 1
    early.starts_on = date(2027, 2, 8)
    early.save()
    assert days()[0][1] == date(2027, 2, 8)  # it moved, and took its work along
    early.status = "cancelled"
    early.save()
    assert days()[0][1] == late.starts_on


def test_a_plan_of_another_due_date_places_nothing(unit):
    chosen = outage(unit, date(2027, 2, 1))
    outage(unit, date(2027, 5, 1))
    owed = plant.due(unit, "PSV-1", date(2027, 6, 1))
    day = date(2027, 2, 1)
    accepted(unit, owed, due_on=date(2026, 6, 1), status="placed", outage=chosen, planned_on=day)
    assert days()[0][1] == date(2027, 5, 1)


def test_a_proposal_that_nobody_accepted_places_nothing(unit):
    chosen = outage(unit, date(2027, 2, 1))
    outage(unit, date(2027, 5, 1))
    owed = plant.due(unit, "PSV-1", date(2027, 6, 1))
    plan = factories.PlanFactory(site=unit.site)
    factories.PlannedJobFactory(
        plan=plan, obligation=owed, due_on=owed.line.due_on, status="placed",
        outage=chosen, planned_on=chosen.starts_on,
    )  # fmt: skip
    assert days()[0][1] == date(2027, 5, 1)


def test_hours_are_those_of_the_kind_and_missing_ones_are_counted_apart(unit):
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    plant.due(unit, "PSV-2", date(2027, 6, 2), kind="pilot")
    plant.due(unit, "PSV-3", date(2027, 6, 3), activity="overhaul")
    load = site_of(unit).whole.load(month_of(date(2027, 6, 1)))
    assert (load.visits, load.hours, load.missing) == (3, 11, 1)
    assert load_words(load) == "11 h at the bench, 3 visits; 1 job without hours"


def test_lines_without_a_day_are_left_out_and_said(unit):
    plant.owed(plant.position(unit, "UNSET"), state="interval_not_set")
    plant.owed(plant.position(unit, "EMPTY"), state="no_device")
    plant.owed(plant.position(unit, "IDLE"), state="not_required")
    plant.owed(plant.position(unit, "UNKNOWN"), state="no_record")
    work = Workload(TODAY, 10)
    assert [tag for tag, on in days(work) if on == TODAY] == ["UNKNOWN"]
    assert left_out_words(work.known) == [
        "1 line whose interval is not set",
        "1 line with no device fitted",
    ]


def test_a_counter_says_the_next_visit_and_nothing_after_it(unit):
    under("usage", {"counter": "starts", "count": 100})
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    work = Workload(TODAY, 10)
    assert days(work) == [("PSV-1", date(2027, 6, 1))]
    assert work.known.once == 1 and len(left_out_words(work.known)) == 1


def test_capacity_stands_beside_the_whole_site(unit):
    """By hand: 1 to 28 May 2027 at 280 h, and three ordinary days at 2 h."""
    outage(unit, date(2027, 5, 1), bench_hours=Decimal(280))
    Site.objects.filter(pk=unit.site_id).update(weekly_bench_hours=Decimal(14))
    may = site_of(unit).beside[7]
    assert may.first_on == date(2027, 5, 1)
    assert may.offered == (Fraction(286), 0)


def test_the_heaviest_month_is_said_first(unit):
    outage(unit, date(2027, 5, 1), ends_on=date(2027, 5, 31), bench_hours=Decimal(10))
    for number in range(1, 5):
        plant.due(unit, f"PSV-{number}", date(2027, 5 + number, 1))
    site = site_of(unit)
    assert heaviest_words(site) == (
        "The heaviest month is May 2027: 16 h against 10 h offered: 6 h too many."
    )
    assert [month.first_on for month in site.over] == [date(2027, 5, 1)]
    assert bunching_words(site) == (
        "Were each visit done exactly on its due date, the heaviest would be Jun 2027 with 4 h."
        " The same hours every month would be 0.3 h a month."
    )


def test_nothing_is_compared_where_nobody_has_said(unit):
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    site = site_of(unit)
    assert heaviest_words(site) == (
        "The heaviest month is Jun 2027: 4 h; nobody has said what the bench offers then."
    )
    assert site.over == [] and site.offered_in(2027) is None


def test_a_site_without_bench_work_says_so(unit):
    assert heaviest_words(site_of(unit)) == "No bench work with known hours falls in these years."
    assert bunching_words(site_of(unit)) == ""


def test_a_unit_is_shown_beside_its_whole_site(unit):
    other = factories.UnitFactory(site=unit.site, name="Other")
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    plant.due(other, "PSV-2", date(2027, 6, 1))
    site = site_of(unit, site=unit.site_id, unit=unit.pk)
    assert [row.name for row in site.units] == ["Reformer"]
    assert (site.units[0].total.visits, site.whole.total.visits) == (1, 2)


def test_years_and_months_add_up_to_the_whole(unit):
    outage(unit, date(2027, 5, 20), ends_on=date(2027, 6, 8))
    for number in range(1, 8):
        plant.due(unit, f"PSV-{number}", date(2027, 6, number), kind="pilot")
    site = site_of(unit)
    years = [site.whole.in_year(year) for year in site.years]
    assert sum(load.hours for load in years) == site.whole.total.hours == 49
    rows = list(Workload(TODAY, 5).as_dicts())
    assert sum(row["hours"] for row in rows) == 49
    assert len(rows) == 60 and tuple(rows[0]) == COLUMNS


def test_a_month_is_made_of_its_visits(unit):
    """By hand: 12 of the outage's 20 days are in May."""
    row = outage(unit, date(2027, 5, 20), ends_on=date(2027, 6, 8))
    plant.due(unit, "PSV-1", date(2027, 6, 30))
    plant.due(unit, "PSV-2", date(2027, 5, 10))
    work = Workload(TODAY, 5)
    may, june = (month_rows(work, month_of(date(2027, month, 1))) for month in (5, 6))
    assert [(r.tag, r.because, r.in_month) for r in may] == [
        ("PSV-2", "on its due date: no outage is known", Decimal(4)),
        ("PSV-1", "in the outage", Decimal("2.4")),
    ]
    assert may[1].outage == (row.pk, row.name)
    assert [(r.tag, r.hours_words) for r in june] == [("PSV-1", "1.6 h of 4 h")]
    load = site_of(unit).whole.load(month_of(date(2027, 5, 1)))
    assert load.hours == Fraction(may[0].in_month + may[1].in_month)


def test_a_rolling_rule_asks_for_the_days_before_the_last(unit):
    """By hand: two in any 4 years, no more than 3 apart; done 2024 and June 2026, so January 2028,
    then 4 years after June 2026."""
    under("rolling", {"count": 2, "window": "P4Y", "gap": "P3Y"})
    owed = plant.due(unit, "PSV-1", date(2028, 1, 1), last_on=date(2026, 6, 1))
    device = owed.line.device
    factories.ServiceEventFactory(device=device, done_on=date(2024, 1, 1))
    assert [on for _, on in days()][:2] == [date(2028, 1, 1), date(2030, 6, 1)]


def test_what_begins_to_be_owed_later_counts_from_then(unit):
    place = plant.position(unit, "PSV-1")
    plant.fitted(place)
    later = factories.ObligationFactory(position=place, rule=plant.rule(), from_on=date(2028, 1, 1))
    factories.ObligationSpanFactory(
        obligation=later, from_on=date(2028, 1, 1), state="dated", due_on=date(2028, 7, 1)
    )
    plant.stamp_lines([place])
    assert days() == [("PSV-1", date(2028, 7, 1)), ("PSV-1", date(2033, 7, 1))]


def test_a_position_that_will_be_removed_owes_nothing_from_then_on(unit):
    owed = plant.due(unit, "PSV-1", date(2027, 6, 1), until_on=date(2031, 1, 1))
    factories.ObligationSpanFactory(obligation=owed, from_on=date(2031, 1, 1), state="not_required")
    assert days() == [("PSV-1", date(2027, 6, 1))]


def test_other_sites_are_not_seen(unit):
    plant.due(unit, "PSV-1", date(2027, 6, 1))
    reader = factories.MembershipFactory().user
    assert days(Workload(TODAY, 10, reader)) == []


def test_hours_in_words():
    assert hours_words(Fraction(825, 2)) == "413 h"
    assert hours_words(Fraction(9, 2)) == "4.5 h"
    assert hours_words(Fraction(0)) == "0 h"
    assert hours_words(Fraction(1000)) == "1000 h"


def asked(count):
    with CaptureQueriesContext(
        connection,
    ) as queries:
        work = Workload(TODAY, 10)
        assert sum(site.whole.total.visits for site in work.sites) >= count
    return len(queries)


def test_thirty_positions_cost_as_many_queries_as_three(unit):
    outage(unit, date(2027, 3, 1))
    for number in range(3):
        plant.due(unit, f"PSV-{number}", date(2027, 6, 1))
    few = asked(3)
    for number in range(3, 30):
        plant.due(unit, f"PSV-{number}", date(2027, 6, 1))
    assert asked(30) == few
