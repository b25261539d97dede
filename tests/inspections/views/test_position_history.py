"""A position's page draws what its devices read, over one axis, in words and in figures."""

from datetime import date
from itertools import count

import pytest

from fleet.drawings.axis import TimeAxis
from inspections.drawings.panels import Run
from inspections.drawings.stays import stays_strip
from tests import factories
from tests.fleet.drawings.reading import by_class, parsed, percent
from tests.fleet.reports import plant
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, text
from tests.inspections.reports.records import record

pytestmark = pytest.mark.django_db
SWAP = date(2020, 3, 1)
NUMBERS = count(1)


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def place():
    return plant.position(factories.UnitFactory(), "PSV-1")


@pytest.fixture
def engineer(place):
    return signed_in("engineer", place.site)


def served(place, went_in, came_out=None, **extra):
    device = factories.DeviceFactory(site=place.site, number=f"S-{next(NUMBERS)}")
    factories.InstallationFactory(
        device=device, position=place, installed_on=went_in, removed_on=came_out
    )
    record(device, went_in.replace(year=went_in.year + 2), **extra)
    return device


def test_the_page_draws_says_and_lists_what_its_devices_read(engineer, place):
    first = served(place, date(2016, 3, 1), SWAP, found="160 psig")
    second = served(place, SWAP)
    response = engineer.get(f"/positions/{place.pk}/")
    said = text(response)
    assert "2 devices in 10 years; 1 of 2 first pops out of tolerance, high." in said
    assert f"{second.number} fitted" in said
    markup = response.content.decode()
    for device in (first, second):
        assert f'<a href="/devices/{device.pk}/" aria-label="{device.number}, from ' in markup
    assert markup.count('<a href="/inspections/') >= 4


def test_a_position_without_records_is_told_in_words_alone(engineer, place):
    plant.fitted(place)
    response = engineer.get(f"/positions/{place.pk}/")
    assert "1 device in 11 years; no first pop was judged here." in text(response)
    assert "drawn" not in response.context


def test_a_position_that_never_had_a_device_shows_nothing_of_it(engineer, place):
    assert "What its devices read" not in text(engineer.get(f"/positions/{place.pk}/"))


def test_many_devices_cost_the_queries_of_one(
    engineer, place, django_assert_num_queries, django_assert_max_num_queries
):
    served(place, date(2000, 3, 1), date(2004, 3, 1))
    with django_assert_max_num_queries(40) as few:
        engineer.get(f"/positions/{place.pk}/")
    for year in range(2004, 2024, 4):
        served(place, date(year, 3, 1), date(year + 4, 3, 1))
    with django_assert_num_queries(len(few.captured_queries)):
        engineer.get(f"/positions/{place.pk}/")


def test_the_strip_holds_the_axis_of_the_panels_and_names_whom_it_has_room_for():
    axis = TimeAxis.spanning([date(2010, 1, 1), TODAY])
    runs = [
        Run("S-1", "/devices/1/", date(1990, 1, 1), date(2018, 1, 1)),
        Run("S-2", "/devices/2/", date(2018, 1, 1), date(2018, 2, 1)),
        Run("S-3", "/devices/3/", date(2018, 2, 1), None),
    ]
    root = parsed(stays_strip(runs, axis, TODAY))
    bars = [bar for bar in by_class(root, "stay") if bar.tag == "rect"]
    assert [round(percent(bar, "x"), 2) for bar in bars] == [
        0, round(axis.x(date(2018, 1, 1)), 2), round(axis.x(date(2018, 2, 1)), 2)
    ]  # fmt: skip
    assert [t.text for t in by_class(root, "stay") if t.tag == "text"] == ["S-1", "S-3"]
    assert [link.get("aria-label") for link in root.iter("a")] == [
        "S-1, from 1 Jan 1990 until 1 Jan 2018",
        "S-2, from 1 Jan 2018 until 1 Feb 2018",
        "S-3, from 1 Feb 2018 still fitted",
    ]
