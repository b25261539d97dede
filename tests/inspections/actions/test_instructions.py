"""An engineer's signed instruction outranks the last as-left; both stay, with their difference."""

from datetime import date, timedelta

import pytest
from django.db import DatabaseError, transaction

from fleet.faults import Refused
from fleet.models import AuditEntry
from inspections.actions.gates import before_signing
from inspections.actions.instructions import end, in_force, instruct
from inspections.actions.records import records_of
from inspections.actions.targets import targets_of
from inspections.models import Inspection, Instruction
from tests import factories
from tests.inspections.shop import AT, DAY, SCREW, Shop, quantity

pytestmark = pytest.mark.django_db
RING, STOP = "lower_ring", "ring touching the disc holder"
LATER = AT + timedelta(days=30)


@pytest.fixture
def shop():
    """The ring was left at 5 notches in 2022."""
    shop = Shop()
    shop.point()
    shop.finish(shop.open("overhaul", day=date(2022, 5, 1)), settings=left("5 notches"))
    return shop


def left(text, found="5 notches"):
    return {(RING, "as_found"): found, (RING, "as_left"): text}


def told(shop, value="7 notches", from_on=date(2023, 1, 1), at=AT, **columns):
    given = {"setting": RING, "datum": STOP, "source": "manual, section 4", "reason": "chatter"}
    row = Instruction(
        device=shop.device, value=quantity(value), from_on=from_on, **(given | columns)
    )
    return instruct(row, by=shop.second, at=at)


def target(job):
    return next(t for t in targets_of(job) if t.setting == RING)


def missing(job):
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return [(f.field, f.expected) for f in before_signing(record, targets_of(job))]


def test_it_is_signed_by_name_and_in_the_chain(shop):
    row = told(shop)
    assert (row.signed_by, row.recorded_by) == (shop.second, shop.second)
    entry = AuditEntry.objects.latest("number")
    assert (entry.action, entry.by) == ("instruction signed", shop.second)


def test_the_target_is_the_instruction_and_the_last_as_left_stays_beside_it(shop):
    told(shop)
    found = target(shop.open("overhaul"))
    assert (str(found.value), found.value_datum) == ("7 notches", STOP)
    assert (str(found.left_value), found.left_on) == ("5 notches", date(2022, 5, 1))
    assert found.moved.words == "off by 2 notches (lower ring), above target"


def test_an_as_left_is_held_to_the_instruction(shop):
    told(shop)
    job = shop.popped(shop.open("overhaul"), settings=left("5 notches"))
    [(field, words)] = missing(job)
    assert field == "lower_ring as left" and words.startswith("off by 2 notches (lower ring)")
    shop.save(job, settings=left("7 notches"))
    assert missing(job) == []


@pytest.mark.parametrize(
    ("day", "value"),
    [
        (date(2022, 12, 31), "5 notches"),  # the day before it begins
        (date(2023, 1, 1), "7 notches"),
        (date(2023, 12, 31), "7 notches"),
        (date(2024, 1, 1), "8 notches"),  # the next one has taken its place
        (date(2024, 3, 1), "5 notches"),  # ended: no older instruction comes back
    ],
)
def test_which_holds_is_asked_of_the_day(shop, day, value):
    told(shop)
    end(told(shop, "8 notches", date(2024, 1, 1)), date(2024, 3, 1), by=shop.second, at=AT)
    assert str(target(Inspection(device=shop.device, done_on=day)).value) == value


def test_a_signed_record_keeps_the_target_it_was_signed_against(shop):
    job = shop.popped(shop.open("overhaul"), settings=left("5 notches"))
    shop.sign(job)
    told(shop, from_on=date(2024, 1, 1), at=LATER)  # written down afterwards, of an earlier day
    signed = Inspection.objects.get(pk=job.pk)
    assert target(signed).instruction is None and str(target(signed).value) == "5 notches"
    shop.save(job, remarks="changed")  # no longer signed: held to what is known now
    assert str(target(Inspection.objects.get(pk=job.pk)).value) == "7 notches"


def test_an_end_written_down_later_does_not_reach_a_signed_record(shop):
    row = told(shop)
    job = shop.popped(shop.open("overhaul"), settings=left("7 notches"))
    shop.sign(job)
    end(row, date(2024, 1, 1), by=shop.second, at=LATER)
    assert target(Inspection.objects.get(pk=job.pk)).instruction == row
    assert in_force(shop.device.pk, DAY) == {}


def test_a_setting_no_model_names_and_nobody_left_is_asked_for_once_it_is_instructed(shop):
    told(shop, "1/16 in", setting="lever_play", datum="lifting nut")
    job = shop.popped(shop.open("overhaul"), settings=left("5 notches"))
    assert [field for field, _ in missing(job)] == ["lever_play as found", "lever_play as left"]


def test_the_screw_still_needs_no_excuse(shop):
    shop.point(**SCREW, datum="first thread", required=False)
    told(shop, "15 turns", setting="compression_screw", datum="first thread")
    read = {("compression_screw", stage): "17 turns" for stage in ("as_found", "as_left")}
    job = shop.popped(shop.open("overhaul"), settings=left("5 notches") | read)
    assert missing(job) == []


@pytest.mark.parametrize(
    ("columns", "field"),
    [
        ({"datum": ""}, "datum"),
        ({"source": ""}, "source"),
        ({"reason": ""}, "reason"),
        ({"value": "1/4 in"}, "value"),  # this ring is counted in notches
        ({"setting": "adjusting_ring"}, "setting"),  # which ring?
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_written(shop, columns, field):
    with pytest.raises(Refused) as refused:
        told(shop, **columns)
    assert [fault.field for fault in refused.value.faults] == [field]
    assert not Instruction.objects.exists()


def test_two_do_not_begin_on_one_day_and_none_is_for_scrap(shop):
    told(shop)
    with pytest.raises(Refused, match="begins on it already"):
        told(shop, "9 notches")
    shop.device.status = "scrapped"
    with pytest.raises(Refused, match="not scrapped"):
        told(shop, from_on=date(2024, 1, 1))


def test_it_ends_once_and_not_before_it_began(shop):
    row = told(shop)
    with pytest.raises(Refused, match="a day after 2023-01-01"):
        end(row, date(2023, 1, 1), by=shop.second, at=AT)
    end(row, date(2024, 1, 1), by=shop.second, at=AT)
    with pytest.raises(Refused, match="ended already"):
        end(row, date(2024, 2, 1), by=shop.second, at=AT)
    assert AuditEntry.objects.latest("number").action == "instruction ended"


def test_the_database_refuses_to_rewrite_one(shop):
    row = told(shop)
    with pytest.raises(DatabaseError, match="dated fact"), transaction.atomic():
        Instruction.objects.filter(pk=row.pk).update(value="9 notches")


def test_one_of_another_device_holds_nothing_here(shop):
    factories.InstructionFactory()
    assert target(shop.open("overhaul")).instruction is None
