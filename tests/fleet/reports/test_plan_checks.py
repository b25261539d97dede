"""Checks on a plan's lines: shares of sampled groups (ASME OM Appendix I), protection left on
stream (49 CFR 192.743), spares, hours and unknown capacities."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.reports.plan_checks import Planned, plan_checks
from tests import factories
from tests.fleet.reports.protected import arranged, place
from tests.fleet.reports.test_on_stream import changeover, with_spare
from tests.fleet.reports.test_spares import spare
from tests.fleet.sampled import sampled

pytestmark = pytest.mark.django_db
DAY, END = date(2026, 10, 31), date(2028, 10, 31)
MONDAY, NEXT = date(2026, 11, 2), date(2026, 11, 9)


@pytest.fixture
def unit():
    return factories.UnitFactory()


def online(position, on=MONDAY, activity="bench_test"):
    return Planned(position.pk, activity, on, None, Decimal(4), "online")


def in_outage(position, on=MONDAY, hours=Decimal(4), activity="bench_test"):
    return Planned(position.pk, activity, on, 1, hours, "placed")


def checks(unit, *lines, from_on=DAY, to_on=END):
    return plan_checks(lines, site=unit.site_id, from_on=from_on, to_on=to_on)


def kinds(found):
    return [check.kind for check in found]


def test_a_sound_plan_has_nothing_said_of_it(unit):
    duty, standby = changeover(unit, ("12 kg/h", "10 kg/h"), ("11 kg/h",))
    assert checks(unit, online(duty), online(standby, NEXT)) == []


def test_both_of_a_changeover_in_one_week_are_a_grave_matter(unit):
    duty, standby = changeover(unit, ("12 kg/h", "10 kg/h"), ("11 kg/h",))
    (found,) = checks(unit, online(duty), online(standby))
    assert (found.kind, found.is_grave, found.planned_on) == ("protection_short", True, MONDAY)
    assert found.positions == (duty.pk, standby.pk)
    assert "out on stream, nothing else stays in service here" in found.words


def test_visual_work_takes_nothing_out(unit):
    duty, standby = changeover(unit, ("12 kg/h", "10 kg/h"), ("11 kg/h",))
    assert checks(unit, online(duty), online(standby, activity="visual")) == []


def test_more_of_several_than_the_duty_can_spare(unit):
    rows = [place(unit, "6000 kg/h", "10000 kg/h" if n == 0 else "") for n in range(3)]
    arranged("multiple", "duty additional additional", *rows)
    assert (
        checks(unit, *(online(row, on) for row, on in zip(rows[:2], (MONDAY, NEXT), strict=True)))
        == []
    )
    (found,) = checks(unit, online(rows[0]), online(rows[1]))
    assert found.kind == "protection_short"
    assert "6000 kg/h, is less than the required 10000 kg/h" in found.words


def test_one_spare_serves_one_visit_of_a_week(unit):
    rows = [with_spare(unit) for _ in range(2)]
    spare(unit, rated_capacity="10000 kg/h")
    assert checks(unit, online(rows[0]), online(rows[1], NEXT)) == []
    (found,) = checks(unit, online(rows[0]), online(rows[1]))
    assert found.kind == "spare_lacking"
    assert found.words == f"no spare for {rows[1].tag}: those that fit go to {rows[0].tag}"


def test_a_spare_whose_test_runs_out_before_the_week_is_lacking(unit):
    row = with_spare(unit)
    factories.ObligationFactory(position=row)
    spare(unit, rated_capacity="10000 kg/h", tested=date(2021, 11, 5))  # five years: 5 Nov 2026
    assert checks(unit, online(row)) == []
    (found,) = checks(unit, online(row, NEXT))
    assert found.kind == "spare_lacking"
    assert "past its date, 2026-11-05" in found.words


def test_what_is_not_known_is_grave_on_stream(unit):
    duty, standby = changeover(unit, ("12 kg/h", "10 kg/h"), ("",))
    (found,) = checks(unit, online(duty))
    assert (found.kind, found.is_grave) == ("capacity_unknown", True)
    assert f"what is fitted at {standby.tag} is not given" in found.words


def test_hours_that_nobody_gave_are_named_by_activity(unit):
    row = place(unit, "12 kg/h", "10 kg/h", isolation="none")
    (found,) = checks(unit, in_outage(row, hours=None))
    assert (found.kind, found.is_grave) == ("hours_not_given", False)
    assert (
        found.words == f"nobody has said what hours bench test takes at {row.tag}: counted as none"
    )


def test_an_unknown_capacity_is_only_said_of_outage_work(unit):
    row = place(unit, isolation="none")
    (found,) = checks(unit, in_outage(row))
    assert (found.kind, found.is_grave) == ("capacity_unknown", False)


class TestShares:
    def test_windows_that_would_fall_short_are_named_with_who_is_next(self, unit):
        group = sampled(unit=unit)
        found = checks(unit, from_on=date(2020, 6, 1), to_on=date(2021, 12, 31))
        (quota,) = found
        assert (quota.kind, quota.is_grave) == ("quota_short", True)
        assert quota.positions == (group.places[0].pk,)
        assert "from 2021-05-01 its window of 24 months would hold 1 tested" in quota.words
        assert quota.words.endswith("the longest untested: MS-001")

    def test_what_falls_due_again_after_the_first_window_is_another_plan_s(self, unit):
        group = sampled(unit=unit)
        lines = [in_outage(row, date(2021, 4, 1)) for row in group.places[:2]]
        found = checks(unit, *lines, from_on=date(2020, 6, 1), to_on=date(2030, 1, 1))
        assert "quota_short" not in kinds(found)

    def test_the_planned_tests_count(self, unit):
        group = sampled(unit=unit)
        lines = [in_outage(row, date(2021, 4, 1)) for row in group.places[:2]]
        found = checks(unit, *lines, from_on=date(2020, 6, 1), to_on=date(2021, 12, 31))
        assert "quota_short" not in kinds(found)

    def test_a_larger_activity_counts_and_a_lesser_one_does_not(self, unit):
        group = sampled(unit=unit)
        days = {"from_on": date(2020, 6, 1), "to_on": date(2021, 12, 31)}
        for activity, short in (("overhaul", False), ("in_place_test", True)):
            lines = [in_outage(p, date(2021, 4, 1), activity=activity) for p in group.places[:2]]
            assert ("quota_short" in kinds(checks(unit, *lines, **days))) is short


def test_many_lines_cost_no_more_queries_than_few(unit):
    rows = [with_spare(unit) for _ in range(6)]
    spare(unit, rated_capacity="10000 kg/h")
    counted = []
    for some in (rows[:1], rows):
        with CaptureQueriesContext(connection) as caught:
            checks(unit, *(online(row) for row in some))
        counted.append(len(caught))
    assert counted[0] == counted[1] <= 60
