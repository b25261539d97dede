"""Capacity left, from the register: the rule is 49 CFR 192.743 (asked again when a device is out).

That few queries answer for many positions is the house's own measure.
"""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.reports.coverage import protection_of
from tests import factories
from tests.fleet.reports.protected import arranged, place

pytestmark = pytest.mark.django_db
DAY = date(2026, 10, 31)


@pytest.fixture
def unit():
    return factories.UnitFactory()


def test_the_standby_stands_in_and_is_listed_though_nobody_asked_for_it(unit):
    duty = place(unit, "12000 kg/h", "10000 kg/h")
    standby = place(unit, "11000 kg/h", status="standby")
    arranged("changeover", "duty standby", duty, standby)
    found = protection_of([duty.pk], DAY)
    assert found.duties.keys() == {duty.pk, standby.pk}
    assert found.without(duty.pk).kind == "covered"
    assert str(found.without(duty.pk).left) == "11000 kg/h"


def test_a_standby_with_nothing_fitted_does_not_stand_in(unit):
    duty = place(unit, "12000 kg/h", "10000 kg/h")
    standby = place(unit, status="standby", fitted=False)
    arranged("changeover", "duty standby", duty, standby)
    found = protection_of([duty.pk], DAY).without(duty.pk)
    assert found.kind == "short"
    assert f"{standby.tag}: nothing is fitted" in found.words


def test_a_standby_that_is_out_of_service_that_day_does_not_stand_in(unit):
    duty = place(unit, "12000 kg/h", "10000 kg/h")
    standby = place(unit, "12000 kg/h", status="standby")
    arranged("changeover", "duty standby", duty, standby)
    factories.OutOfServiceFactory(position=standby, from_on=DAY, to_on=date(2026, 11, 5))
    assert protection_of([duty.pk], DAY).without(duty.pk).kind == "short"
    assert protection_of([duty.pk], date(2026, 11, 5)).without(duty.pk).kind == "covered"


@pytest.mark.parametrize("status", ["quarantined", "scrapped", "in_shop"])
def test_a_device_that_is_not_usable_does_not_stand_in(unit, status):
    duty = place(unit, "12000 kg/h", "10000 kg/h")
    standby = place(unit, "12000 kg/h", status="standby")
    arranged("changeover", "duty standby", duty, standby)
    device = standby.installations.get().device
    device.status = status
    device.save()
    assert protection_of([duty.pk], DAY).without(duty.pk).kind == "short"


def test_the_duty_of_the_day_is_the_one_that_counts(unit):
    duty = place(unit, "12000 kg/h", "10000 kg/h")
    standby = place(unit, "11000 kg/h", status="standby")
    arranged("changeover", "duty standby", duty, standby)
    factories.PositionDutyFactory(
        position=duty, from_on=date(2027, 1, 1), required_capacity="11500 kg/h"
    )
    assert protection_of([duty.pk], date(2026, 12, 31)).without(duty.pk).kind == "covered"
    assert protection_of([duty.pk], date(2027, 1, 1)).without(duty.pk).kind == "short"


def test_arrangements_within_arrangements_are_followed_to_the_last(unit):
    a, b, c, d = (place(unit, "6000 kg/h") for _ in range(4))
    factories.PositionDutyFactory(
        position=a, from_on=date(2020, 1, 1), required_capacity="10000 kg/h"
    )
    arranged("multiple", "duty additional", a, c)
    arranged("changeover", "duty standby", a, b)
    arranged("combination", "valve upstream_disc", c, d)
    found = protection_of([b.pk], DAY)
    assert found.duties.keys() == {a.pk, b.pk, c.pk, d.pk}
    assert found.without(b.pk).kind == "covered"
    assert found.without(d.pk).kind == "short"


def test_a_position_without_a_duty_on_the_day_protects_nothing(unit):
    row = factories.PositionFactory(unit=unit)
    assert protection_of([row.pk], DAY).without(row.pk).kind == "short"


def queries_for(positions):
    with CaptureQueriesContext(
        connection,
    ) as caught:
        protection_of([row.pk for row in positions], DAY)
    return len(caught)


def test_many_positions_cost_no_more_queries_than_few(unit):
    pairs = [(place(unit), place(unit, status="standby")) for _ in range(12)]
    for pair in pairs:
        arranged("changeover", "duty standby", *pair)
    every = [row for pair in pairs for row in pair]
    assert queries_for(every[:2]) == queries_for(every) <= 8
