"""What is kept is what the records say: caught up with, it equals a review made from the ground up.

The check is the product against itself by another way: `restate` reads no chain and keeps nothing.
"""

from datetime import date, timedelta

import pytest
from django.apps import apps

from fleet.models import AuditEntry, AuditHead, Device
from inspections.kept import catching_up
from inspections.kept.catching_up import catch_up, catch_up_if_few, restate
from inspections.kept.changes import CONCERN, NONE_OF_IT
from inspections.models import FlagState, Screening, SettingState
from inspections.reports.settings import review
from inspections.reports.settings_ask import screened_review
from inspections.reports.settings_kept import as_kept
from tests import factories
from tests.inspections.kept.kept_rows import from_the_ground_up, kept
from tests.inspections.kept.random_writes import Writes
from tests.inspections.reports.records import record, written

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("seed", range(4))
def test_after_any_writes_catching_up_gives_what_restating_gives(seed):
    plant = Writes(seed)
    for _ in range(10):
        plant.visited()
    for turn in range(14):
        for _ in range(plant.dice.randint(1, 4)):
            plant.write()
        catch_up(at=plant.at)
        assert kept() == from_the_ground_up(plant.at), f"seed {seed}, turn {turn}"
    assert FlagState.objects.exists()


def test_every_kind_of_aggregate_is_known_to_concern_somebody_or_nobody():
    """A new audited model has to be put on one side; until then it means every device."""
    audited = {
        model._meta.model_name
        for app in ("fleet", "inspections")
        for model in apps.get_app_config(app).get_models()
        if getattr(model, "is_audited", True)
    }
    children = {  # always in the entry of what they belong to
        *("poptest", "settingreading", "finding", "photo", "document", "contactcheck"),
        *("positionduty", "outageunit", "arrangementmember"),
    }
    assert audited - children == set(CONCERN) | NONE_OF_IT


def aggregate(name, by):
    head = AuditHead.objects.get()
    head.number += 1
    head.digest = f"{head.number:064x}"
    entry = {"previous": "0" * 64, "action": "x", "after": "{}", "at": factories.RECORDED_AT}
    AuditEntry.objects.create(
        number=head.number, digest=head.digest, by=by, aggregate=name, **entry
    )
    head.save()


@pytest.fixture
def plant():
    writes = Writes(1)
    for device in writes.devices:
        writes.visited(device=device)
    catch_up(at=writes.at)
    return writes


@pytest.fixture
def stated(monkeypatch):
    """How many devices each turn stated."""
    counts = []
    real = catching_up.state_devices
    monkeypatch.setattr(
        catching_up,
        "state_devices",
        lambda kept, keys, day: (counts.append(len(keys)), real(kept, keys, day)),
    )
    return counts


def test_only_the_device_that_was_written_about_is_stated(plant, stated):
    plant.visited(device=plant.devices[0])
    catch_up(at=plant.at)
    assert stated == [1]
    catch_up(at=plant.at)
    assert stated == [1]


def test_what_it_does_not_read_states_nobody_but_is_taken_in(plant, stated):
    plant.nothing_of_it()
    stands = catch_up(at=plant.at)
    assert stated == []
    assert stands.screening.entry == AuditHead.objects.get().number


def test_a_kind_that_nobody_thought_of_means_every_device(plant, stated):
    aggregate("sprocket:4", plant.by)
    catch_up(at=plant.at)
    assert sum(stated) == len(plant.devices)


def test_a_database_brought_back_from_a_copy_is_stated_whole(plant, stated):
    """The same entry number, but another chain."""
    Screening.objects.update(digest="f" * 64)
    catch_up(at=plant.at)
    assert sum(stated) == len(plant.devices)


def test_a_clock_that_went_back_states_everything(plant, stated):
    catch_up(at=plant.at - timedelta(days=3))
    assert sum(stated) == len(plant.devices)


def test_a_page_leaves_much_to_the_background(plant, stated, monkeypatch):
    monkeypatch.setattr(catching_up, "FEW", 3)
    for device in plant.devices:
        plant.visited(device=device)
    stands = catch_up_if_few(at=plant.at)
    assert (stands.is_behind, stands.is_busy, stated) == (True, False, [])
    catch_up(at=plant.at)
    assert not catch_up_if_few(at=plant.at).is_behind


def test_a_page_states_few_devices_and_leaves_a_great_fleet_to_be_screened_later(
    plant, monkeypatch
):
    monkeypatch.setattr(catching_up, "SCREENED_AT_ONCE", 0)
    device = factories.DeviceFactory()
    written([record(device, date(2020, 1, 1))])
    stands = catch_up_if_few(at=plant.at)
    assert SettingState.objects.filter(device=device).exists()
    assert (stands.is_behind, stands.is_screened) == (False, False)
    assert not catch_up_if_few(at=plant.at).is_screened
    assert catch_up(at=plant.at).is_screened
    assert kept() == from_the_ground_up(plant.at)
    plant.nothing_of_it()
    assert catch_up_if_few(at=plant.at).is_screened


def test_only_changed_rows_are_written(plant, django_assert_max_num_queries):
    before = dict(SettingState.objects.values_list("pk", "device"))
    with django_assert_max_num_queries(45) as log:
        restate(at=plant.at)
    assert dict(SettingState.objects.values_list("pk", "device")) == before
    wrote = [q["sql"] for q in log.captured_queries if "settingstate" in q["sql"].lower()]
    assert not [sql for sql in wrote if sql.startswith(("UPDATE", "INSERT", "DELETE"))]


def test_a_device_whose_last_record_is_replaced_loses_its_states():
    one, other = factories.DeviceFactory(), factories.DeviceFactory()
    first = record(one, date(2020, 1, 1))
    written([first])
    catch_up(at=factories.RECORDED_AT)
    assert set(SettingState.objects.values_list("device", flat=True)) == {one.pk}
    again = record(other, first.done_on, corrects=first)
    written([again])
    catch_up(at=factories.RECORDED_AT)
    assert set(SettingState.objects.values_list("device", flat=True)) == {other.pk}


def drifting_fleet():
    """Thirty rings that are found where they were left, give or take one, and one that is not."""
    for number in range(31):
        device = factories.DeviceFactory()
        written(_visit(device, number, year) for year in range(7))
    return device


def _visit(device, number, year):
    drift = 4 if number == 30 else 0
    found = -7 + drift + (number + year * 2) % 3 - 1
    rings = (f"{found} notches", "-7 notches")
    return record(device, date(2015 + year, 3, 1), ref=f"{number}-{year}", rings=rings)


def test_one_that_drifts_among_many_that_do_not_is_found_and_said_with_its_numbers():
    device = drifting_fleet()
    stands = catch_up(at=factories.RECORDED_AT)
    [flag] = FlagState.objects.filter(is_statistic=True, code="trending")
    assert flag.state.device_id == device.pk
    assert "notches a year over 4 movements in service" in flag.reasons[0]
    assert (stands.screening.judged, stands.screening.too_few) == (62, 0)
    assert 0 < stands.screening.expected_false < 1


def test_the_devices_own_rows_carry_what_only_the_fleet_can_tell():
    device, day = drifting_fleet(), factories.RECORDED_AT.date()
    catch_up(at=factories.RECORDED_AT)
    rows = review(day, Device.objects.filter(pk=device.pk))
    assert "trending" in {code for row in as_kept(rows, day) for code in row.flags}
    tomorrow = day + timedelta(days=1)
    assert "trending" not in {code for row in as_kept(rows, tomorrow) for code in row.flags}


def test_a_past_day_is_screened_in_memory_to_the_same_flags():
    drifting_fleet()
    catch_up(at=factories.RECORDED_AT)
    said = {
        (flag.state.device_id, flag.state.setting, flag.code): tuple(flag.reasons)
        for flag in FlagState.objects.select_related("state")
    }
    rows = screened_review(factories.RECORDED_AT.date())
    assert said == {
        (row.device_id, row.setting, flag.code): flag.reasons for row in rows for flag in row.raised
    }
    assert [row.device_id for row in rows] == list(
        SettingState.objects.order_by(
            *("-is_flagged", "-device_weight", "-device_far", "device", "-weight", "id")
        ).values_list("device", flat=True)
    )


def test_what_was_written_for_a_day_is_taken_in_once_that_day_has_come(plant):
    """Nothing is written on that day; it only comes."""
    device, tomorrow = plant.devices[0], plant.at + timedelta(days=1)
    place = factories.PositionFactory(tag="OLD", unit=plant.units[0])
    factories.PositionDutyFactory(position=place, tag="OLD")
    factories.InstallationFactory(position=place, device=device, installed_on=date(2026, 1, 1))
    factories.PositionDutyFactory(position=place, tag="NEW", from_on=tomorrow.date())
    written([place])
    catch_up(at=plant.at)
    tags = SettingState.objects.filter(device=device).values_list("tag", flat=True)
    assert set(tags) == {"OLD"}
    catch_up(at=tomorrow)
    assert set(tags.all()) == {"NEW"}
