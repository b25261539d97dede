"""What verification proposes, and what a correction takes back.

150 psig under the ASME VIII band, 3 % (UG-134(d) via API RP 576 6.2.9.8): 145.5 to 154.5 psig.
"""

from datetime import date

import pytest

from fleet.actions.proposals import decline
from fleet.models import EventVoid, Proposal, ServiceEvent
from inspections.actions.propose import propose
from inspections.actions.start import correct
from inspections.actions.targets import targets_of
from inspections.models import Inspection
from tests.inspections.shop import AT, DAY, Shop, quantity

pytestmark = pytest.mark.django_db
LATER, EARLIER = date(2024, 5, 30), date(2023, 5, 1)


@pytest.fixture
def shop():
    return Shop()


def proposed():
    rows = Proposal.objects.order_by("pk")
    return [(row.kind, row.source, row.answer) for row in rows]


def still_open():
    return [(row.kind, row.source) for row in Proposal.objects.filter(answered_on=None)]


def fail(shop, day=DAY, found="160 psig", **columns):
    return shop.finish(shop.open(day=day), found=found, **columns)


def corrected(shop, record, found, **values):
    job = correct(record, by=shop.mechanic, at=AT)
    shop.popped(job, found=found, **values)
    shop.sign(job)
    shop.verify(job)
    return Inspection.objects.get(pk=job.pk)


def test_a_verified_failure_is_proposed_for_the_position_it_served(shop):
    record = fail(shop)
    [row] = Proposal.objects.all()
    assert (row.position, row.kind, row.source) == (shop.place, "as_received_failure", record.ref)
    assert (row.raised_on, row.recorded_by) == (DAY, shop.second)
    assert "opened at 160 psig, +6.67 %, above 145.5 psig to 154.5 psig" in row.reason


def test_an_unverified_failure_is_not(shop):
    job = shop.open()
    shop.popped(job, found="160 psig")
    shop.sign(job)
    assert proposed() == []


def test_a_test_in_tolerance_is_not(shop):
    shop.finish(shop.open())
    assert proposed() == []


def test_a_waived_test_is_proposed(shop):
    shop.finish(shop.open(), found=None, waived_reason="fouled solid")
    [row] = Proposal.objects.all()
    assert (row.kind, row.reason) == ("waived_test", "as-received test waived: fouled solid")


def test_a_device_from_the_shelf_proposes_nothing(shop):
    spare = shop.device.__class__.objects.create(number="D-2", site=shop.site, kind="spring")
    shop.finish(shop.open(device=spare), found="160 psig", disposition="repaired")
    assert proposed() == []


def test_two_in_a_row_of_one_device_at_one_position(shop):
    first = fail(shop, EARLIER)
    second = fail(shop)
    assert proposed() == [
        ("as_received_failure", first.ref, ""), ("repeated_failure", second.ref, "")
    ]  # fmt: skip


def test_a_pass_between_breaks_the_row(shop):
    fail(shop, EARLIER)
    shop.finish(shop.open(day=date(2023, 9, 1)))
    fail(shop)
    assert [kind for kind, _, _ in proposed()] == ["as_received_failure"] * 2


def test_another_device_at_the_position_is_no_repetition(shop):
    fail(shop, EARLIER)
    shop.remove(shop.device.installations.get(), date(2023, 6, 1))
    spare = shop.device.__class__.objects.create(number="D-2", site=shop.site, kind="spring")
    shop.fit(spare, shop.place, date(2023, 6, 1))
    shop.finish(shop.open(device=spare), found="160 psig")
    assert [kind for kind, _, _ in proposed()] == ["as_received_failure"] * 2


def test_the_same_device_at_another_position_is_no_repetition(shop):
    fail(shop, EARLIER)
    shop.remove(shop.device.installations.get(), date(2023, 6, 1))
    shop.fit(shop.device, shop.position("PSV-2"), date(2023, 6, 1))
    fail(shop)
    assert [kind for kind, _, _ in proposed()] == ["as_received_failure"] * 2


def test_a_failure_that_is_written_down_late_makes_the_next_one_a_repetition(shop):
    late = fail(shop)
    early = fail(shop, EARLIER)
    assert proposed() == [
        ("as_received_failure", late.ref, "withdrawn"),
        ("as_received_failure", early.ref, ""),
        ("repeated_failure", late.ref, ""),
    ]


def test_a_corrected_first_failure_takes_the_repetition_back(shop):
    first = fail(shop, EARLIER)
    second = fail(shop)
    corrected(shop, first, "151 psig")
    assert still_open() == [("as_received_failure", second.ref)]


def test_no_open_failure_is_ever_lost_to_going_back_and_forth(shop):
    """Late entry, its correction, and the correction's correction."""
    late, early = fail(shop), fail(shop, EARLIER)
    good = corrected(shop, early, "151 psig")
    assert [source for _, source in still_open()] == [late.ref]
    bad = corrected(shop, good, "160 psig")
    assert {source for _, source in still_open()} == {late.ref, bad.ref}


def test_a_correction_without_cause_withdraws(shop):
    wrong = fail(shop)
    right = corrected(shop, wrong, "151 psig")
    [row] = Proposal.objects.all()
    assert (row.answer, row.answered_by) == ("withdrawn", shop.second)
    assert row.answer_words == f"{wrong.ref} was corrected by {right.ref}"


def test_a_correction_of_something_else_leaves_it_open(shop):
    wrong = fail(shop)
    corrected(shop, wrong, "160 psig", remarks="seat lapped")
    assert proposed() == [("as_received_failure", wrong.ref, "")]


def test_a_correction_of_something_else_leaves_its_answer(shop):
    wrong = fail(shop)
    decline(Proposal.objects.get(), "the gauge was wrong", by=shop.second, at=AT)
    corrected(shop, wrong, "160 psig", remarks="seat lapped")
    assert proposed() == [("as_received_failure", wrong.ref, "declined")]


def test_a_correction_that_fails_otherwise_is_proposed_anew(shop):
    """What was declined was another pressure."""
    wrong = fail(shop, found="155 psig")
    decline(Proposal.objects.get(), "half a psi", by=shop.second, at=AT)
    right = corrected(shop, wrong, "255 psig")
    assert proposed() == [
        ("as_received_failure", wrong.ref, "declined"), ("as_received_failure", right.ref, "")
    ]  # fmt: skip


def test_a_correction_of_a_correction_finds_the_first_proposal(shop):
    wrong = fail(shop)
    second = corrected(shop, wrong, "160 psig", remarks="seat lapped")
    corrected(shop, second, "151 psig")
    assert proposed() == [("as_received_failure", wrong.ref, "withdrawn")]


def test_a_correction_may_move_it_to_another_day(shop):
    wrong = fail(shop)
    right = corrected(shop, wrong, "160 psig", done_on=EARLIER)
    row = Proposal.objects.get(answered_on=None)
    assert (row.source, row.raised_on) == (right.ref, EARLIER)
    assert Proposal.objects.get(source=wrong.ref).answer == "withdrawn"


def test_proposing_twice_proposes_once(shop):
    record = fail(shop)
    assert propose([record], by=shop.by, at=AT) == []
    assert len(proposed()) == 1


# what a record that does not count leaves in the ledger


def test_what_was_found_stays_although_it_does_not_count(shop):
    record = fail(shop, found="143 psig", left=None, disposition="scrapped")
    event = ServiceEvent.objects.get()
    assert (event.is_counted, event.as_found_verdict) == (False, "low")
    assert (record.event, record.is_counted) == (event, False)
    assert shop.due().state == "no_record"
    assert not ServiceEvent.objects.counting().exists()


def test_its_correction_voids_it_and_counts(shop):
    wrong = fail(shop, left=None, disposition="scrapped")
    right = corrected(shop, wrong, "160 psig", left="150 psig", disposition="repaired")
    assert EventVoid.objects.get().event == wrong.event
    assert right.is_counted and shop.due().event == right.event


def test_a_counted_record_corrected_to_one_that_does_not_count_takes_the_date_back(shop):
    wrong = shop.finish(shop.open())
    right = corrected(shop, wrong, "151 psig", disposition="scrapped")
    assert not right.is_counted and right.event is not None
    assert shop.due().state == "no_record"


def test_what_was_not_judged_leaves_nothing():
    shop = Shop(tolerance="unknown-to-the-library")
    record = shop.finish(shop.open(), disposition="scrapped")
    assert record.event is None


def test_a_waived_scrapped_device_leaves_nothing_in_the_ledger_but_a_proposal(shop):
    record = shop.finish(
        shop.open(), found=None, left=None, waived_reason="fouled", disposition="scrapped"
    )
    assert record.event is None and [kind for kind, _, _ in proposed()] == ["waived_test"]


def test_its_as_left_is_still_the_next_one_s_target(shop):
    """A record that does not count was read all the same."""
    shop.point()
    job = shop.open("overhaul", EARLIER)
    shop.save(job, settings={("lower_ring", "as_left"): "7 notches",
                             ("lower_ring", "as_found"): "7 notches"})  # fmt: skip
    shop.finish(job, left="160 psig", disposition="returned_untested")
    [target] = targets_of(shop.open("overhaul"))
    assert target.value == quantity("7 notches")
