"""What the work on the parts owes before a signature: answers for figures out of their limit, and
an unbroken ring of marking blue where a seat was lapped (any break: lap again and check again)."""

import pytest

from fleet.faults import Refused
from inspections.actions.records import records_of
from inspections.actions.start import correct
from inspections.actions.step import Step, save_step
from inspections.actions.workmanship import limits_of, unfinished
from inspections.models import ContactCheck, Inspection
from tests import factories
from tests.inspections.shop import AT, Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shop = Shop(activity="overhaul")
    factories.PartLimitFactory(model=shop.model, low="118.5 mm")  # spring, free height
    return shop


@pytest.fixture
def job(shop):
    return shop.open("overhaul")


def finding(part="spring", condition="good", **columns):
    return {"part": part, "condition": condition, "order": 1, **columns}


def height(value, action=""):
    return finding(condition="measured", measure="Free height", value=value, action=action)


def owed(shop, job, findings=(), checks=None, **values):
    job = Inspection.objects.get(pk=job.pk)
    step = Step("inspect", values=values, findings=list(findings), checks=checks or {})
    save_step(job, step, version=job.version, by=shop.mechanic, at=AT)
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return [f"{fault.field}: {fault.expected}" for fault in unfinished(record)]


def ring(unbroken, note=""):
    return {"is_unbroken": unbroken, "note": note}


@pytest.mark.parametrize(
    ("value", "action", "words"),
    [
        ("118.5 mm", "", ""),
        ("118 mm", "replaced", ""),
        ("118 mm", "stays: engineer's letter of 3 May", ""),
        ("118 mm", "", "0.5 mm under the low limit of 118.5 mm (maker's drawing): say what"),
        ("118", "", "not held against 118.5 mm or more"),
        ("", "", ""),
    ],
)
def test_a_figure_out_of_its_limit_waits_for_an_answer(shop, job, value, action, words):
    said = owed(shop, job, [height(value, action)])
    assert (words in said[0]) if words else said == []


def test_a_figure_without_a_limit_is_held_against_none(shop, job):
    free = finding("spindle", "measured", measure="run-out", value="9 mm")
    assert owed(shop, job, [free]) == []


def test_an_out_of_limit_figure_can_be_saved_and_is_stopped_at_the_signature(shop, job):
    shop.popped(job)
    assert owed(shop, job, [height("118 mm")])
    with pytest.raises(Refused) as refused:
        shop.sign(job)
    assert [fault.field for fault in refused.value.faults] == ["spring Free height"]
    owed(shop, job, [height("118 mm", "replaced")])
    assert shop.sign(job).signed_at


@pytest.mark.parametrize(
    ("action", "checks", "words"),
    [
        ("lapped", {}, "disc was lapped: a contact check"),
        ("Lapping by hand", {}, "disc was lapped"),
        ("re-lapped", {}, "disc was lapped"),
        ("not lapped", {}, ""),
        ("no lapping needed", {}, ""),
        ("overlapped weld ground", {}, ""),
        ("cleaned", {}, ""),
        ("lapped", {1: ring(True)}, ""),
        ("cleaned", {1: ring(False, "lapped")}, "lap again and check again"),
        ("lapped", {1: ring(False, "lapped"), 2: ring(True)}, ""),
        ("lapped", {1: ring(True), 2: ring(False, "lapped")}, "lap again and check again"),
        ("lapped", {1: ring(False), 2: ring(True)}, "the ring was broken: what was done"),
    ],
)
def test_a_lapped_seat_wants_its_last_ring_unbroken(shop, job, action, checks, words):
    said = owed(shop, job, [finding("disc", "scored", action=action)], checks)
    assert (words in said[0]) if words else said == []


def test_what_does_not_go_back_owes_no_contact_check(shop, job):
    assert owed(shop, job, [finding("disc", action="lapped")], disposition="scrapped") == []


def test_a_check_can_be_taken_away_while_the_job_is_open(shop, job):
    owed(shop, job, checks={1: ring(False, "lapped"), 2: ring(True)})
    owed(shop, job, checks={2: None})
    assert [check.order for check in ContactCheck.objects.filter(inspection=job)] == [1]


def test_a_correction_says_the_checks_again(shop, job):
    shop.popped(job)
    owed(shop, job, [finding("disc", action="lapped")], {1: ring(True)})
    shop.sign(job)
    shop.verify(job)
    new = correct(Inspection.objects.get(pk=job.pk), by=shop.mechanic, at=AT)
    assert new.contact_checks.get().is_unbroken and job.contact_checks.count() == 1


def test_a_device_without_a_model_has_no_limits(shop):
    assert limits_of(factories.DeviceFactory(model=None)) == {}
