"""The register of positions and of devices."""

import csv
import io
from datetime import date

import pytest

from fleet.models import PositionDuty
from fleet.reports.devices import DEVICE_COLUMNS
from fleet.reports.positions import POSITION_COLUMNS
from tests import factories
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, streamed, text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def unit():
    return factories.UnitFactory(name="Reformer")


@pytest.fixture
def auditor(unit):
    return signed_in("auditor", unit.site)


def exported(client, path):
    return list(csv.DictReader(io.StringIO(streamed(client.get(path)).decode())))


def test_a_position_shows_its_set_pressure_as_typed_what_is_fitted_and_what_it_owes(auditor, unit):
    plant.due(unit, "PSV-1", date(2026, 9, 20), number="N-1", kind="bellows")
    page = text(auditor.get("/register/"))
    assert "150 psig" in page and "N-1" in page and "bellows" in page
    assert "overdue" in page and "bench test, " in page


def test_the_set_pressure_is_that_of_the_duty_in_force(auditor, unit):
    place = plant.position(unit, "PSV-1")
    for day, pressure in ((date(2026, 1, 1), "160 psig"), (date(2027, 1, 1), "170 psig")):
        factories.PositionDutyFactory(position=place, from_on=day, set_pressure=pressure)
    assert PositionDuty.objects.count() == 3
    assert exported(auditor, "/register/?export=csv")[0]["set_pressure"] == "160 psig"


def test_an_empty_position_says_so(auditor, unit):
    plant.owed(plant.position(unit, "PSV-1"), state="no_device")
    assert "no device fitted" in text(auditor.get("/register/"))


def test_positions_are_filtered_and_exported_as_filtered(auditor, unit):
    plant.due(unit, "PSV-1", date(2027, 1, 1), number="N-1", kind="pilot")
    plant.position(unit, "PSV-2", fluid="ammonia", status="standby")
    for query, wanted in {
        "kind=pilot": ["PSV-1"],
        "fluid=AMMO": ["PSV-2"],
        "status=standby": ["PSV-2"],
        "find=n-1": ["PSV-1"],
        "find=psv": ["PSV-1", "PSV-2"],
        f"unit={unit.pk}": ["PSV-1", "PSV-2"],
    }.items():
        rows = exported(auditor, f"/register/?export=csv&{query}")
        assert [row["tag"] for row in rows] == wanted, query
        assert tuple(rows[0]) == POSITION_COLUMNS


@pytest.mark.parametrize("sort", ["tag", "equipment", "set_pressure", "fluid", "status", "due"])
def test_positions_sort_by_every_column_both_ways(auditor, unit, sort):
    for n in range(3):
        plant.due(unit, f"PSV-{n}", date(2027, 1, 1 + n))
    for turned in ("", "-"):
        page = auditor.get(f"/register/?sort={turned}{sort}")
        assert page.status_code == 200
        assert page.context["table"].paginator.count == 3


def test_devices_say_where_they_are(auditor, unit):
    plant.due(unit, "PSV-1", date(2027, 1, 1), number="N-1")
    factories.DeviceFactory(number="N-2", site=unit.site, shelf_expires_on=date(2027, 3, 1))
    page = text(auditor.get("/devices/"))
    assert "PSV-1" in page and "not fitted" in page and "1 Mar 2027" in page
    loose = exported(auditor, "/devices/?export=csv&place=loose")
    assert [row["device"] for row in loose] == ["N-2"]
    assert tuple(loose[0]) == DEVICE_COLUMNS


@pytest.mark.parametrize(
    "sort", ["device", "serial", "model", "kind", "status", "shelf_expires_on"]
)
def test_devices_sort_by_every_column_both_ways(auditor, unit, sort):
    for turned in ("", "-"):
        assert auditor.get(f"/devices/?sort={turned}{sort}").status_code == 200


def test_other_sites_do_not_show(auditor):
    plant.due(factories.UnitFactory(), "THEIRS", date(2027, 1, 1), number="N-9")
    assert "THEIRS" not in text(auditor.get("/register/"))
    assert "N-9" not in text(auditor.get("/devices/"))


@pytest.mark.parametrize("path", ["/register/", "/devices/"])
def test_a_list_costs_the_same_for_three_rows_and_for_thirty(
    auditor, unit, path, django_assert_max_num_queries, django_assert_num_queries
):
    for n in range(3):
        plant.due(unit, f"PSV-{n:02}", date(2027, 1, 1))
    # session, user, roles, site names; sites, units for the filter; the page's count and rows;
    # set pressures, what is fitted, what is owed
    with django_assert_max_num_queries(12) as few:
        auditor.get(path)
    for n in range(3, 30):
        plant.due(unit, f"PSV-{n:02}", date(2027, 1, 1))
    with django_assert_num_queries(len(few.captured_queries)):
        auditor.get(path)
