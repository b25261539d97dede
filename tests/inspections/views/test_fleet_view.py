"""The fleet's first pops by model, service, unit and year, and two groups compared."""

import csv
from datetime import date
from io import StringIO

import pytest
from django.urls import reverse

from inspections.models import Inspection
from inspections.reports.populations import _kept as counts_kept
from tests import factories
from tests.factories import RECORDED_AT
from tests.fleet.views.signed_in import text
from tests.inspections.reports.records import record, verifier, written
from tests.inspections.shop import Shop
from tests.inspections.views.bench.pages import client_of
from tests.inspections.views.test_arithmetic import _the_day as _the_day

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def counted_anew():
    """A test's chain may end in another's digest; a database's own never does twice."""
    counts_kept.cache_clear()


@pytest.fixture
def shop():
    """Three tests of one valve under 150 psig: in, high, and no lift at all."""
    shop = Shop()
    shop.finish(shop.open(day=date(2021, 5, 1)))
    shop.finish(shop.open(day=date(2022, 5, 1)), found="160 psig")
    shop.finish(shop.open(day=date(2023, 5, 1)), found={"pressure": "225 psig", "bound": "above"})
    return shop


@pytest.fixture
def client(shop):
    return client_of(factories.MembershipFactory(site=shop.site, role="engineer").user)


def rows(client, **asked):
    page = client.get(reverse("fleet_view"), {"export": "csv", **asked})
    return list(csv.DictReader(StringIO(b"".join(page).decode())))


@pytest.mark.parametrize("by", ["model", "service", "unit", "year"])
def test_every_grouping_is_a_list_and_an_export(client, by):
    assert client.get(reverse("fleet_view"), {"by": by}).status_code == 200
    found = rows(client, by=by)
    assert sum(int(row["first_pops"]) for row in found) == 3


def test_high_low_and_stuck_are_counted_apart(shop, client):
    [row] = rows(client)
    assert (row["high"], row["low"], row["stuck"], row["no_lift"]) == ("1", "0", "1", "1")
    assert row["judged"] == "3" and row["median_percent"] == ""  # two exact pops give no median
    assert str(shop.model) in text(client.get(reverse("fleet_view")))


def test_two_years_are_compared(client):
    page = text(client.get(reverse("fleet_view"), {"by": "year", "one": "2022", "other": "2021"}))
    assert "Fisher" in page and "two-sided p 1" in page
    page = text(client.get(reverse("fleet_view"), {"by": "year", "one": "2022", "other": "2022"}))
    assert "One group twice says nothing" in page


def test_another_site_s_pops_are_not_told(shop):
    stranger = client_of(factories.MembershipFactory(role="engineer").user)
    assert rows(stranger) == []


def test_what_is_not_understood_is_not_exported(client):
    page = client.get(reverse("fleet_view"), {"export": "csv", "as_of": "2999-01-01"})
    assert page.status_code == 400


def test_many_groups_cost_the_queries_of_few(shop, client, django_assert_max_num_queries):
    client.get(reverse("fleet_view"))
    counts_kept.cache_clear()
    with django_assert_max_num_queries(25) as few:
        client.get(reverse("fleet_view"))
    count = len(few)
    for number in range(12):
        model = factories.DeviceModelFactory()
        device = factories.DeviceFactory(site=shop.site, model=model, number=f"X-{number}")
        shop.finish(shop.open(device=device))
    with django_assert_max_num_queries(count):
        client.get(reverse("fleet_view"))


def lock(row):
    Inspection.objects.filter(pk=row.pk).update(locked_at=RECORDED_AT, verified_by=verifier())


def test_the_verdict_counts_and_never_the_percent_rounded_for_show(client, shop):
    """154.500004 psig is 3.0000 % by its four decimals, and high by what was measured."""
    device = factories.DeviceFactory(site=shop.site, model=factories.DeviceModelFactory())
    row = record(
        device, date(2020, 5, 1), ref="W-1", found="154.500004 psig", verdict="high", locked=False
    )
    row.pops.filter(stage="as_found").update(deviation_percent="3.0000")
    lock(row)
    [found] = rows(client, model=device.model_id)
    assert (found["high"], found["judged"]) == ("1", "1")


def test_no_lift_within_the_band_is_no_failure_for_nobody_can_say(client, shop):
    device = factories.DeviceFactory(site=shop.site, model=factories.DeviceModelFactory())
    row = record(
        device, date(2020, 5, 1), ref="W-1", found="152 psig", verdict="undecided", locked=False
    )
    row.pops.filter(stage="as_found").update(
        bound="above", result="no_lift", deviation_percent="1.3333"
    )
    lock(row)
    [found] = rows(client, model=device.model_id)
    assert (found["first_pops"], found["judged"], found["stuck"], found["no_lift"]) == (
        *("1", "0", "0", "1"),
    )


def test_a_pop_belongs_to_the_service_and_the_unit_of_its_day(client, shop):
    device = factories.DeviceFactory(site=shop.site, model=factories.DeviceModelFactory())
    old, new = (factories.UnitFactory(site=shop.site, name=name) for name in ("Old", "New"))
    place = factories.PositionFactory(unit=new, fluid="steam")
    factories.PositionDutyFactory(position=place, unit=old, fluid="air", from_on=None)
    factories.PositionDutyFactory(position=place, unit=new, fluid="steam", from_on=date(2020, 5, 1))
    record(device, date(2020, 4, 30), ref="W-1", position=place)
    record(device, date(2020, 5, 1), ref="W-2", position=place)
    record(device, date(2021, 5, 1), ref="W-3")
    of = {"model": device.model_id}
    services = {row["group"]: row["first_pops"] for row in rows(client, by="service", **of)}
    assert services == {"air": "1", "steam": "1", "not recorded": "1"}
    units = {row["group"]: row["first_pops"] for row in rows(client, by="unit", **of)}
    assert units == {"Old": "1", "New": "1", "not recorded": "1"}
    asked = {**of, "unit": old.pk, "as_of": "2020-12-31"}
    assert [row["group"] for row in rows(client, by="year", **asked)] == ["2020"]
    assert [row["first_pops"] for row in rows(client, **of, as_of="2020-04-30")] == ["1"]


def test_what_is_written_shows_although_the_counts_are_kept_meanwhile(shop, client):
    assert [row["first_pops"] for row in rows(client)] == ["3"]
    device = factories.DeviceFactory(site=shop.site, model=shop.model)
    record(device, date(2020, 5, 1), ref="W-1", verdict="in")
    written([device])
    assert [row["first_pops"] for row in rows(client)] == ["4"]
