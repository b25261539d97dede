"""Interchangeable spares on the shelf. The checks are those of the house's own fitting action."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.reports.in_place import in_place
from fleet.reports.spares import shelf_for
from tests import factories

pytestmark = pytest.mark.django_db
DAY = date(2026, 10, 31)
SIZES = {"orifice": "J", "inlet": "2 in", "outlet": "3 in", "nameplate_set": "150 psig"}


@pytest.fixture
def unit():
    return factories.UnitFactory()


def wanting(unit, *, gap="P5Y", **duty):
    """A position with a device fitted, owing a bench test."""
    row = factories.PositionFactory(unit=unit)
    factories.PositionDutyFactory(position=row, **duty)
    device = factories.DeviceFactory(site=unit.site, **SIZES)
    factories.InstallationFactory(position=row, device=device)
    rule = factories.IntervalRuleFactory(parameters={"gap": gap})
    factories.ObligationFactory(position=row, rule=rule)
    return row


def spare(unit, *, tested=date(2025, 6, 1), **extra):
    device = factories.DeviceFactory(**{"site": unit.site, **SIZES, **extra})
    if tested:
        factories.ServiceEventFactory(device=device, done_on=tested)
    return device


def shelf(*positions, day=DAY):
    return shelf_for(in_place([row.pk for row in positions], day), day)


def fitting(position, day=DAY):
    return [each.device for each in shelf(position, day=day).fitting(position.pk)]


def test_a_like_device_with_a_valid_test_fits(unit):
    row, device = wanting(unit), spare(unit)
    found = shelf(row)
    (one,) = found.fitting(row.pk)
    assert (one.device, one.valid_until) == (device, date(2030, 6, 1))
    assert found.why_none(row.pk) == ""


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        ({"orifice": "K"}, "its orifice is K"),
        ({"inlet": "3 in"}, "its inlet is 3 in"),
        ({"outlet": ""}, "its outlet is not given"),
        ({"shelf_expires_on": DAY - timedelta(days=1)}, "its shelf life ended on 2026-10-30"),
        ({"tested": None}, "no bench test of it counts"),
        ({"tested": date(2021, 10, 30)}, "past its date, 2026-10-30"),
    ],
)
def test_what_speaks_against_one_is_named(unit, extra, words):
    row, _ = wanting(unit), spare(unit, **extra)
    found = shelf(row)
    assert found.fitting(row.pk) == []
    assert words in found.why_none(row.pk)


@pytest.mark.parametrize(
    "extra", [{"nameplate_set": "160 psig"}, {"nameplate_set": None}, {"kind": "pilot"}]
)
def test_another_kind_or_set_pressure_is_not_considered(unit, extra):
    row, _ = wanting(unit), spare(unit, **extra)
    assert shelf(row).why_none(row.pk) == "nothing on the shelf is of its kind and set pressure"


def test_the_last_day_of_a_test_and_of_a_shelf_life_counts(unit):
    row = wanting(unit)
    device = spare(unit, tested=date(2021, 10, 31), shelf_expires_on=DAY)
    assert fitting(row) == [device]


def test_one_set_to_the_cold_test_pressure_fits(unit):
    row = wanting(unit, cold_test_pressure="132.6 psig")
    assert fitting(row) == []
    device = spare(unit, nameplate_set="132.6 psig")
    assert fitting(row) == [device]


@pytest.mark.parametrize("status", ["in_shop", "quarantined", "scrapped"])
def test_only_what_is_available_is_on_the_shelf(unit, status):
    row, _ = wanting(unit), spare(unit, status=status)
    assert fitting(row) == []


def test_what_is_fitted_elsewhere_is_not_on_the_shelf(unit):
    row, device = wanting(unit), spare(unit)
    spell = factories.InstallationFactory(
        position=factories.PositionFactory(unit=unit), device=device
    )
    assert fitting(row) == []
    type(spell).objects.filter(pk=spell.pk).update(
        removed_on=date(2026, 1, 1), closed_at=spell.recorded_at, closed_by=spell.recorded_by
    )
    assert fitting(row) == [device]


def test_another_sites_device_does_not_count_and_one_of_no_site_does(unit):
    row, other = wanting(unit), factories.UnitFactory()
    spare(other)
    assert fitting(row) == []
    free = spare(unit, site=None)
    assert fitting(row) == [free]


def test_a_day_ahead_asks_for_a_test_that_is_valid_then(unit):
    row, device = wanting(unit), spare(unit, tested=date(2023, 1, 1))
    assert fitting(row, date(2028, 1, 1)) == [device]
    assert fitting(row, date(2028, 1, 2)) == []


def test_too_small_a_capacity_does_not_fit(unit):
    row = wanting(unit, required_capacity="9000 kg/h")
    spare(unit, rated_capacity="8999 kg/h")
    assert fitting(row) == []
    device = spare(unit, rated_capacity="9000 kg/h")
    assert fitting(row) == [device]


def test_the_oldest_test_is_used_first(unit):
    row = wanting(unit)
    newer, older = spare(unit, tested=date(2026, 1, 1)), spare(unit, tested=date(2024, 1, 1))
    assert fitting(row) == [older, newer]


def test_many_positions_and_spares_cost_no_more_queries(unit):
    rows = [wanting(unit) for _ in range(8)]
    for _ in range(6):
        spare(unit)
    counted = []
    for some in (rows[:1], rows):
        with CaptureQueriesContext(connection) as caught:
            found = shelf(*some)
            assert all(len(found.fitting(row.pk)) == 6 for row in some)
        counted.append(len(caught))
    assert counted[0] == counted[1] <= 20
