"""A failed bench test goes on as an overhaul of the same visit (API RP 576 6.2.9: what is out of
tolerance as received is inspected and repaired), and loses nothing that was written."""

import pytest

from fleet.faults import Refused
from fleet.models import AuditEntry
from inspections.actions.becoming import become_overhaul
from inspections.actions.step import ChangedMeanwhile
from inspections.models import Inspection
from tests.inspections.shop import AT, Shop, quantity

pytestmark = pytest.mark.django_db
RING = "lower_ring"


@pytest.fixture
def shop():
    return Shop(activity="overhaul")


def turned(shop, job, version=None):
    job = Inspection.objects.get(pk=job.pk)
    return become_overhaul(
        job, version=job.version if version is None else version, by=shop.mechanic, at=AT
    )


def pops(job):
    return {(p.stage, p.order): str(p.pressure) for p in job.pops.all()}


def test_what_was_found_stays_and_the_first_pop_counts_for_the_overhaul(shop):
    job = shop.open()
    shop.save(job, pops={("as_found", 1): "160 psig", ("as_found", 2): "158 psig"},
              seal_found="LW-1", cap_rig=quantity("300 psig"))  # fmt: skip
    before = Inspection.objects.get(pk=job.pk)
    job = turned(shop, job)
    assert (job.activity, job.version) == ("overhaul", before.version + 1)
    assert (job.seal_found, str(job.cap_rig), job.done_on) == ("LW-1", "300 psig", before.done_on)
    assert pops(job) == {("as_found", 1): "160 psig", ("as_found", 2): "158 psig"}
    assert job.remarks.startswith(f"Bench test turned into an overhaul by {shop.mechanic.name}")
    assert AuditEntry.objects.order_by("pk").last().action == "became an overhaul"

    record = shop.finish(job, found="160 psig")
    assert record.event.activity == "overhaul" and record.event.as_found_verdict == "high"
    assert shop.due().due_on is not None


def test_what_was_left_before_it_was_taken_apart_is_no_as_left_of_it(shop):
    job = shop.open()
    left = {"pressure": quantity("150 psig"), "reseat": quantity("140 psig")}
    shop.save(job, pops={("as_found", 1): "160 psig", ("as_left", 1): left}, remarks="dirty",
              disposition="repaired")  # fmt: skip
    job = turned(shop, job)
    assert pops(job) == {("as_found", 1): "160 psig"} and job.disposition == ""
    assert job.remarks.splitlines()[0] == "dirty"
    assert job.remarks.endswith("as left: pop 150 psig, reseat 140 psig, disposition repaired")
    with pytest.raises(Refused) as refused:
        shop.sign(job)
    assert [fault.field for fault in refused.value.faults] == ["as_left_pop"]


def test_its_gates_are_those_of_an_overhaul_and_a_signature_falls(shop):
    shop.point()
    job = shop.open()
    shop.popped(job, found="160 psig")
    shop.sign(job)
    job = turned(shop, job)
    assert (job.signed_at, job.signed_by, job.done_by) == (None, None, None)
    with pytest.raises(Refused) as refused:
        shop.sign(job)
    fields = {fault.field for fault in refused.value.faults}
    assert fields == {"as_left_pop", f"{RING} as found", f"{RING} as left"}


@pytest.mark.parametrize("activity", ["overhaul", "in_place_test", "lever", "visual"])
def test_only_a_bench_test_becomes_one(shop, activity):
    with pytest.raises(Refused, match="only that becomes an overhaul") as refused:
        turned(shop, shop.open(activity))
    assert refused.value.faults[0].field == "activity"


def test_neither_a_locked_record_nor_one_saved_meanwhile_is_turned(shop):
    job = shop.open()
    with pytest.raises(ChangedMeanwhile):
        turned(shop, job, version=99)
    locked = shop.finish(job)
    with pytest.raises(Refused):
        turned(shop, locked)
    assert Inspection.objects.get(pk=job.pk).activity == "bench_test"
