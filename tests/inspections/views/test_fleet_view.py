"""The fleet's first pops by model, service, unit and year, and two groups compared."""

import csv
from datetime import date
from io import StringIO

import pytest
from django.urls import reverse

from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.shop import Shop
from tests.inspections.views.bench.pages import client_of
from tests.inspections.views.test_arithmetic import _the_day as _the_day

pytestmark = pytest.mark.django_db


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
    with django_assert_max_num_queries(25) as few:
        client.get(reverse("fleet_view"))
    count = len(few)
    for number in range(12):
        model = factories.DeviceModelFactory()
        device = factories.DeviceFactory(site=shop.site, model=model, number=f"X-{number}")
        shop.finish(shop.open(device=device))
    with django_assert_max_num_queries(count):
        client.get(reverse("fleet_view"))
