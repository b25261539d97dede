"""Opening, saving and signing a job: its gates, its targets, and who answers for what."""

from datetime import date, timedelta

import pytest

from fleet.faults import Refused
from inspections.actions.gates import before_signing, before_stripping
from inspections.actions.records import records_of
from inspections.actions.step import ChangedMeanwhile, Step, save_step
from inspections.actions.targets import targets_of
from inspections.models import Inspection, SettingReading
from tests import factories
from tests.inspections.shop import AT, DAY, SCREW, Shop, quantity

pytestmark = pytest.mark.django_db
RING = "lower_ring"


@pytest.fixture
def shop():
    return Shop()


def overhauled(shop, day, left="5 notches", **columns):
    """A verified overhaul that left the ring there (None: nobody wrote it down)."""
    job = shop.open("overhaul", day=day)
    read = {(RING, "as_found"): "5 notches", (RING, "as_left"): left}
    shop.popped(job, settings={k: v for k, v in read.items() if v}, **columns)
    shop.sign(job)
    shop.verify(job)
    return Inspection.objects.get(pk=job.pk)


def missing(gate, job):
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return [fault.field for fault in gate(record, targets_of(job))]


def target(job, setting=RING):
    return next(t for t in targets_of(job) if t.setting == setting)


# opening


def test_a_job_knows_where_its_device_was(shop):
    job = shop.open("overhaul")
    assert (job.position, job.site, job.method) == (shop.place, shop.site, "bench")
    assert job.locked_at is None and job.ref.startswith("2024-")


def test_a_device_moved_on_the_day_looks_back_on_where_it_came_from(shop):
    shop.remove(shop.device.installations.get(), DAY)
    shop.fit(shop.device, shop.position("PSV-2"), DAY)
    assert shop.open().position == shop.place


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"activity": "polish"}, "one of visual"),
        ({"day": AT.date() + timedelta(1)}, "not in the future"),
    ],
)
def test_what_cannot_be_is_not_opened(shop, change, words):
    with pytest.raises(Refused, match=words):
        shop.open(**change)


def test_a_scrapped_device_and_one_with_an_open_job_are_not_opened(shop):
    scrapped = factories.DeviceFactory(site=shop.site, status="scrapped")
    with pytest.raises(Refused, match="not scrapped"):
        shop.open(device=scrapped)
    shop.open()
    with pytest.raises(Refused, match="open already"):
        shop.open()


def test_a_number_that_an_old_record_brought_is_not_used_again(shop):
    following = shop.open()
    taken = f"2024-{following.pk + 2:06d}"
    factories.InspectionFactory(ref=taken)
    assert shop.open(device=factories.DeviceFactory(site=shop.site)).ref == f"{taken}-2"


# saving


def test_a_day_in_the_future_is_refused_and_nothing_is_saved(shop):
    job = shop.open()
    with pytest.raises(Refused, match="not in the future"):
        shop.save(job, done_on=date(2024, 6, 2), remarks="x")
    assert Inspection.objects.get(pk=job.pk).remarks == ""


def test_another_day_is_another_place(shop):
    job = shop.open()
    shop.save(job, done_on=date(2019, 1, 1))
    assert Inspection.objects.get(pk=job.pk).position is None


def test_saving_over_a_version_somebody_else_saved_writes_nothing(shop):
    job = shop.open()
    shop.save(job, remarks="theirs")
    with pytest.raises(ChangedMeanwhile):
        step = Step("arrival", values={"remarks": "mine"})
        save_step(job, step, version=job.version, by=shop.second, at=AT)
    assert Inspection.objects.get(pk=job.pk).remarks == "theirs"


def test_whoever_gives_the_reason_answers_for_it(shop):
    job = shop.open("overhaul")
    read = {"value": "7 notches", "changed_reason": "new ring"}
    shop.save(job, settings={(RING, "as_left"): read}, by=shop.mechanic)
    shop.save(job, settings={(RING, "as_left"): read | {"datum": "seat"}}, by=shop.second)
    assert SettingReading.objects.get().changed_by == shop.mechanic  # the reason is still his
    shop.save(
        job, settings={(RING, "as_left"): read | {"changed_reason": "new disc"}}, by=shop.second
    )
    assert SettingReading.objects.get().changed_by == shop.second
    shop.save(job, settings={(RING, "as_left"): read | {"changed_reason": ""}})
    assert SettingReading.objects.get().changed_by is None


def test_a_reading_taken_away_is_gone(shop):
    job = shop.open("overhaul")
    shop.save(job, settings={(RING, "as_left"): "7 notches"}, pops={("as_found", 1): "150 psig"})
    gone = {("as_found", 1): None}
    shop.save(job, settings={(RING, "as_left"): None}, pops=gone, correction="another valve's")
    assert not job.settings.exists() and not job.pops.exists()


# gates


def test_nothing_is_stripped_before_the_first_pop_and_the_settings_as_found(shop):
    shop.point()
    job = shop.open("overhaul")
    assert missing(before_stripping, job) == ["first_pop", "lower_ring as found"]
    shop.save(job, pops={("as_found", 1): "151 psig"})
    shop.save(job, settings={(RING, "as_found"): {"missing_reason": "guide seized"}})
    assert missing(before_stripping, job) == []


def test_a_waived_test_needs_its_reason(shop):
    job = shop.open()
    assert missing(before_signing, job) == ["first_pop", "as_left_pop"]
    shop.save(job, waived_reason="plugged with polymer", pops={("as_left", 1): "150 psig"})
    assert missing(before_signing, job) == []


def test_an_overhaul_is_not_signed_without_its_as_left_settings(shop):
    shop.point()
    job = shop.popped(shop.open("overhaul"), settings={(RING, "as_found"): "5 notches"})
    assert missing(before_signing, job) == ["lower_ring as left"]
    shop.save(job, settings={(RING, "as_left"): {"missing_reason": "forgot"}})
    assert missing(before_signing, job) == ["lower_ring as left"]  # no reason will do
    with pytest.raises(Refused):
        shop.sign(job)
    shop.save(job, settings={(RING, "as_left"): {"value": "5 notches", "missing_reason": ""}})
    shop.sign(job)


def test_what_was_set_before_is_read_again_or_said_to_be_missing(shop):
    """Not required by its model, but its position is on record: it is not lost in silence."""
    shop.point(required=False)
    overhauled(shop, date(2022, 5, 1))
    job = shop.popped(shop.open("overhaul"))
    assert missing(before_signing, job) == ["lower_ring as found", "lower_ring as left"]
    why = {"missing_reason": "one-ring nozzle fitted"}
    shop.save(job, settings={(RING, "as_found"): why, (RING, "as_left"): why})
    assert missing(before_signing, job) == []


def test_a_device_that_is_scrapped_needs_no_as_left(shop):
    shop.point()
    job = shop.save(shop.open("overhaul"), disposition="scrapped", waived_reason="body cracked")
    shop.save(job, settings={(RING, "as_found"): "5 notches"})
    assert missing(before_signing, job) == []


@pytest.mark.parametrize("setting", [RING, "compression_screw"])
def test_off_its_target_needs_a_reason_but_for_the_screw(shop, setting):
    shop.point(**({} if setting == RING else SCREW))
    unit = "notches" if setting == RING else "turns"
    first = shop.open("overhaul", day=date(2022, 5, 1))
    read = {(setting, "as_found"): f"5 {unit}", (setting, "as_left"): f"5 {unit}"}
    shop.popped(first, settings=read)
    shop.sign(first)
    shop.verify(first)
    job = shop.popped(shop.open("overhaul"), settings=read | {(setting, "as_left"): f"7 {unit}"})
    wanted = ["lower_ring as left"] if setting == RING else []
    assert missing(before_signing, job) == wanted
    left = {"value": f"7 {unit}", "changed_reason": "maker's bulletin"}
    shop.save(job, settings={(setting, "as_left"): left})
    assert missing(before_signing, job) == []


# targets


def test_the_target_is_the_last_verified_as_left_with_its_datum_and_record(shop):
    shop.point()
    old = overhauled(shop, date(2022, 5, 1), "5 notches")
    unverified = shop.popped(
        shop.open("overhaul", day=date(2023, 5, 1)), settings={(RING, "as_left"): "9 notches"}
    )
    shop.save(unverified, remarks="never signed")
    found = target(factories.InspectionFactory.build(device=shop.device, done_on=DAY))
    assert (str(found.value), found.left_on, found.ref) == ("5 notches", date(2022, 5, 1), old.ref)
    assert found.value_datum == "ring touching the disc holder" and found.caution == ""


def test_a_later_overhaul_that_left_no_reading_is_told(shop):
    overhauled(shop, date(2020, 5, 1), "5 notches")
    silent = shop.open("overhaul", day=date(2022, 5, 1))
    why = {"missing_reason": "sheet lost"}
    shop.popped(silent, settings={(RING, "as_found"): why, (RING, "as_left"): why})
    shop.sign(silent)
    shop.verify(silent)
    found = target(shop.open("overhaul"))
    assert str(found.value) == "5 notches" and found.silent_on == date(2022, 5, 1)
    assert found.caution.startswith("no as-left in the last overhaul, on 2022-05-01")


def test_a_later_test_that_strips_nothing_leaves_the_target_as_it_is(shop):
    overhauled(shop, date(2020, 5, 1), "5 notches")
    shop.finish(shop.open("bench_test", day=date(2022, 5, 1)))
    assert target(shop.open("overhaul")).caution == ""


def test_a_record_is_held_against_what_came_before_it_not_after(shop):
    shop.point()
    first = overhauled(shop, date(2020, 5, 1), "5 notches")
    second = overhauled(shop, date(2022, 5, 1), "5 notches")
    assert target(first).value is None
    assert target(second).ref == first.ref


@pytest.mark.parametrize(
    ("typed", "datum", "kind"),
    [
        ("5 notches", "", "equal"),
        ("7 notches", "", "off"),
        ("5 notches", "lapped seat", "not_comparable"),
    ],
)
def test_an_as_left_is_compared_in_its_datum(shop, typed, datum, kind):
    shop.point()
    overhauled(shop, date(2020, 5, 1), "5 notches")
    found = target(shop.open("overhaul")).compared(quantity(typed), datum)
    assert found.kind == kind
    if kind == "off":
        assert found.words == "off by 2 notches (lower ring), above target"
