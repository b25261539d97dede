"""Two people answer for a record; what they answered for is corrected by another one."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from fleet.faults import Refused
from fleet.models import EventVoid, ServiceEvent
from fleet.reports import proof
from inspections.actions.sign import sign
from inspections.actions.start import correct
from inspections.actions.verify import verify
from inspections.models import Inspection
from tests import factories
from tests.inspections.shop import AT, DAY, Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return Shop()


@pytest.fixture
def wrong(shop):
    """A verified record dated one month late."""
    return shop.finish(shop.open(), tag_typed="PSV-1", remarks="seat lapped")


def faults(call, *arguments, **values):
    with pytest.raises(Refused) as refused:
        call(*arguments, **values)
    return "; ".join(str(fault) for fault in refused.value.faults)


def test_the_person_who_did_the_work_cannot_verify_it(shop):
    job = shop.open()
    shop.popped(job)
    shop.sign(job)
    assert "a second person verifies" in faults(shop.verify, job, by=shop.mechanic)
    stored = Inspection.objects.get(pk=job.pk)
    assert (stored.locked_at, stored.verified_by) == (None, None)
    assert shop.due().state == "no_record"


def test_the_database_refuses_it_too(shop):
    job = shop.open()
    with pytest.raises(IntegrityError), transaction.atomic():
        Inspection.objects.filter(pk=job.pk).update(
            done_by=shop.mechanic, verified_by=shop.mechanic
        )


def test_an_unsigned_record_is_not_verified(shop):
    job = shop.open()
    shop.popped(job)
    assert "signs first" in faults(shop.verify, job)


def test_a_record_saved_after_it_was_read_is_not_verified(shop):
    job = shop.open()
    shop.popped(job)
    read = shop.sign(job).version
    shop.save(job, remarks="one more thing")
    shop.sign(job)
    words = faults(verify, [job], by=shop.second, at=AT, version=read)
    assert "changed since you read it" in words


def test_a_change_after_signing_takes_the_signature_off(shop):
    job = shop.open()
    shop.popped(job)
    shop.sign(job)
    shop.save(job, remarks="one more thing")
    stored = Inspection.objects.get(pk=job.pk)
    assert (stored.done_by, stored.signed_at, stored.signed_on) == (None, None, None)
    assert "signs first" in faults(shop.verify, job)


def test_a_version_that_was_not_read_is_not_signed(shop):
    job = shop.open()
    shop.popped(job)
    words = faults(sign, job, version=job.version, by=shop.mechanic, at=AT)
    assert "changed since you read it" in words


def test_one_of_several_that_is_refused_refuses_all(shop):
    good, bad = shop.open(), shop.open(device=factories.DeviceFactory(site=shop.site))
    shop.popped(good)
    shop.sign(good)
    with pytest.raises(Refused):
        verify([good, bad], by=shop.second, at=AT)
    assert not Inspection.objects.locked().exists() and not ServiceEvent.objects.exists()


def test_a_verified_record_is_not_verified_nor_signed_nor_saved_again(shop, wrong):
    assert "locked already" in faults(shop.verify, wrong)
    assert "locked" in faults(shop.sign, wrong)
    assert "locked" in faults(shop.save, wrong, remarks="x")


def test_a_correction_says_everything_again_and_nothing_counts_until_it_is_verified(shop, wrong):
    new = correct(wrong, by=shop.mechanic, at=AT)
    assert (new.corrects, new.remarks, new.done_by, new.locked_at) == (
        wrong,
        "seat lapped",
        None,
        None,
    )
    assert [str(pop.pressure) for pop in new.pops.all()] == ["151 psig", "150 psig"]
    assert new.ref != wrong.ref and new.event is None
    assert shop.due().event == wrong.event


def test_a_verified_correction_voids_the_old_event_and_counts_itself(shop, wrong):
    new = correct(wrong, by=shop.mechanic, at=AT)
    shop.save(new, done_on=date(2024, 4, 20))
    shop.sign(new)
    shop.verify(new)
    new.refresh_from_db()
    void = EventVoid.objects.get()
    assert (void.event, void.reason) == (wrong.event, f"corrected by {new.ref}")
    assert (shop.due().event, shop.due().due_on) == (new.event, date(2029, 4, 20))
    assert shop.due(day=date(2024, 4, 20)).due_on == date(2029, 4, 20)
    assert list(Inspection.objects.standing()) == [new]
    wrong.refresh_from_db()
    assert (wrong.done_on, wrong.remarks) == (DAY, "seat lapped")


def test_a_correction_that_does_not_count_takes_the_date_back(shop, wrong):
    new = correct(wrong, by=shop.mechanic, at=AT)
    shop.save(new, disposition="scrapped")
    shop.sign(new)
    shop.verify(new)
    assert shop.due().state == "no_record"


def test_a_correction_can_be_corrected(shop, wrong):
    for days in (1, 2):
        new = correct(Inspection.objects.standing().get(), by=shop.mechanic, at=AT)
        shop.save(new, done_on=DAY + timedelta(days))
        shop.sign(new)
        shop.verify(new)
    assert shop.due().due_on == date(2029, 5, 22)
    assert EventVoid.objects.count() == 2


def test_a_record_is_corrected_once_and_only_when_locked(shop, wrong):
    new = correct(wrong, by=shop.mechanic, at=AT)
    assert f"is being corrected by {new.ref}" in faults(correct, wrong, by=shop.mechanic, at=AT)
    assert "still open" in faults(correct, new, by=shop.mechanic, at=AT)


def test_a_correction_s_target_is_not_what_it_corrects(shop):
    """The as-left of the wrong record is what is being corrected: it asks for no reason."""
    shop.point()
    job = shop.open("overhaul")
    read = {("lower_ring", "as_found"): "5 notches", ("lower_ring", "as_left"): "7 notches"}
    shop.popped(job, settings=read)
    shop.sign(job)
    shop.verify(job)
    new = correct(Inspection.objects.get(pk=job.pk), by=shop.mechanic, at=AT)
    shop.save(new, settings={("lower_ring", "as_left"): "5 notches"})
    shop.sign(new)


def test_corrections_leave_a_whole_chain(shop, wrong):
    new = correct(wrong, by=shop.mechanic, at=AT)
    shop.sign(new)
    shop.verify(new)
    ours = ("inspections_", "fleet_serviceevent", "fleet_eventvoid")
    said = [str(d) for d in proof.differences() if d.kind != "row" or d.where.startswith(ours)]
    assert said == []
