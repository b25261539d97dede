"""The settings review as a list: its order, filters, counts, scope and cost."""

from datetime import date

import pytest

from fleet.models import Device
from inspections.reports.settings import devices_for, review
from inspections.reports.settings_ask import Review, SettingsAsk
from tests import factories
from tests.inspections.reports.records import record, yearly

pytestmark = pytest.mark.django_db
TODAY = date(2026, 10, 31)


@pytest.fixture
def device():
    return factories.DeviceFactory(number="D-1", serial="S1")


def rows():
    return review(TODAY, Device.objects.all())


def test_flagged_devices_stand_first_and_the_worst_foremost(device):
    record(device, date(2016, 3, 1), found="160 psig")
    worse = factories.DeviceFactory(number="D-2")
    yearly(worse, {"found": "160 psig"}, {"found": "165 psig"})
    fine = factories.DeviceFactory(number="D-0")
    record(fine, date(2016, 3, 1))
    assert [r.device for r in rows()] == ["D-2", "D-1", "D-0"]


def test_the_filters_narrow_and_turning_the_sort_keeps_every_row(device):
    place = factories.PositionFactory(tag="PSV-7", unit__site=device.site)
    factories.InstallationFactory(position=place, device=device, installed_on=date(2014, 1, 1))
    record(device, date(2016, 3, 1), found="160 psig")
    other = factories.DeviceFactory(number="D-2", serial="XY9")
    record(other, date(2016, 3, 1))
    every = rows()

    def found(**ask):
        return [r.device for r in Review(TODAY, every, SettingsAsk(**ask)).found]

    assert found(flag="any") == found(flag="out_of_tolerance") == ["D-1"]
    assert found(flag="nothing_flagged") == found(find="xy") == ["D-2"]
    assert found(unit=place.unit_id) == found(find="psv-7") == ["D-1"]
    assert found(model=other.model_id) == found(site=other.site_id) == ["D-2"]
    assert found(flag="sticking") == []
    listing = Review(TODAY, every)
    for sort in ("tag", "device", "setting"):
        assert listing.sorted(sort) == listing.sorted(f"-{sort}")[::-1] or sort == "setting"
        assert len(listing.rows(0, None, f"-{sort}")) == len(every)


def test_counts_say_how_many_rows_and_devices_are_flagged(device):
    record(device, date(2016, 3, 1), found="160 psig", rings=("-7 notches", "-7 notches"))
    summary = Review(TODAY, rows()).summary()
    assert (summary["rows"], summary["devices"], summary["flagged_rows"]) == (2, 1, 1)
    assert (summary["out_of_tolerance"], summary["sticking"]) == (1, 0)


def test_a_user_sees_the_devices_of_their_sites_only(device):
    record(device, date(2016, 3, 1))
    record(factories.DeviceFactory(), date(2016, 3, 1))
    user = factories.MembershipFactory(site=device.site).user
    assert {r.device for r in review(TODAY, devices_for(user))} == {"D-1"}
    assert len(review(TODAY, devices_for(None))) == 2


def test_the_review_costs_the_same_queries_for_three_devices_and_for_thirty(
    django_assert_max_num_queries, django_assert_num_queries
):
    model = factories.DeviceModelFactory()

    def devices(numbers):
        for n in numbers:
            one = factories.DeviceFactory(number=f"D-{n}", model=model)
            place = factories.PositionFactory(unit__site=one.site)
            factories.InstallationFactory(position=place, device=one)

            record(one, date(2016, 3, 1), rings=("1 notch", "2 notches"))

    devices(range(3))
    # devices, records, pops, readings, findings, setting points, spells, duties
    with django_assert_max_num_queries(9) as few:
        rows()
    devices(range(3, 30))
    with django_assert_num_queries(len(few.captured_queries)):
        assert len(rows()) == 60
