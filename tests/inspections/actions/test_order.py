"""What is written down before what has to be read first is kept, and asked about for good.

The first pop before anything is touched: API RP 576 6.2.9. Settings as found before dismantling:
common practice. A lift-assisted test keeps its correction factor: NRC IN 94-56.
"""

import pytest

from inspections.actions.gates import before_signing
from inspections.actions.records import records_of
from inspections.actions.start import correct
from inspections.actions.targets import targets_of
from inspections.models import Inspection, Question
from tests.inspections.shop import AT, Shop

pytestmark = pytest.mark.django_db
RING = "lower_ring"
POP, RING_FOUND, FACTOR = "first_pop", f"{RING} as found", "lift_factor"
POPPED = {"pops": {("as_found", 1): "151 psig", ("as_left", 1): "150 psig"}}
FOUND = {(RING, "as_found"): "5 notches"}
BOTH = FOUND | {(RING, "as_left"): "5 notches"}


@pytest.fixture
def shop():
    shop = Shop()
    shop.point()
    return shop


def asked(gate, job):
    [record] = records_of([Inspection.objects.get(pk=job.pk)])
    return [fault.field for fault in gate(record, targets_of(job))]


def out_of_order(job):
    rows = Question.objects.filter(inspection=job, code="written_out_of_order")
    return sorted(rows.values_list("field", flat=True))


# the order


def test_findings_before_the_settings_as_found_are_kept_and_asked_about_for_good(shop):
    """Typed text is never lost; but that it was typed first stays to be seen."""
    job = shop.open("overhaul")
    shop.save(job, findings=[{"part": "disc", "condition": "scored"}])
    assert job.findings.get().part == "disc"
    assert out_of_order(job) == [POP, RING_FOUND]
    assert "before the valve was touched?" in job.questions.get(field=RING_FOUND).text
    shop.save(job, findings=[{"part": "disc", "condition": "scored"}])
    record = shop.finish(job, settings=BOTH)
    assert out_of_order(record) == [POP, RING_FOUND]  # once each, and open still
    assert record.questions.filter(answered_at=None).count() == 2


def test_in_the_order_of_the_trade_nothing_is_asked(shop):
    job = shop.open("overhaul")
    shop.save(job, pops={("as_found", 1): "151 psig"}, settings=FOUND)
    shop.save(job, findings=[{"part": "disc", "condition": "scored"}])
    assert out_of_order(shop.finish(job, settings=BOTH)) == []


@pytest.mark.parametrize("activity", ["bench_test", "in_place_test"])
def test_an_as_left_pop_before_the_first_one_is_asked_about(shop, activity):
    job = shop.open(activity)
    shop.save(job, pops={("as_left", 1): "150 psig"})
    assert out_of_order(job) == [POP]


def test_an_as_left_setting_before_the_one_found_is_asked_about(shop):
    job = shop.save(shop.open("overhaul"), pops={("as_found", 1): "151 psig"})
    shop.save(job, settings={(RING, "as_left"): "5 notches"})
    assert out_of_order(job) == [RING_FOUND]


def test_what_was_done_elsewhere_and_a_correction_are_entered_in_any_order(shop):
    job = shop.save(shop.open("overhaul"), shop="Valve Works")
    shop.save(job, pops={("as_left", 1): "150 psig"})
    assert out_of_order(job) == []
    shop.save(job, pops={("as_left", 1): None}, shop="")
    old = shop.finish(job, settings=BOTH)
    new = correct(old, by=shop.mechanic, at=AT)
    shop.save(new, pops={("as_found", 1): None})
    shop.save(new, pops={("as_left", 1): "150.5 psig"})
    assert out_of_order(new) == []


# a lift assist


@pytest.mark.parametrize(
    ("columns", "wanted"),
    [
        (POPPED, [FACTOR]),
        (POPPED | {"lift_factor": "1.03"}, []),
        ({"waived_reason": "no rig", "disposition": "scrapped"}, []),
    ],
)
def test_a_lift_assisted_pop_needs_the_factor_of_its_assist(shop, columns, wanted):
    job = shop.save(shop.open("in_place_test"), method="in_place_assist", **columns)
    assert asked(before_signing, job) == wanted


def test_a_pop_by_full_pressure_has_no_factor(shop):
    job = shop.save(shop.open("in_place_test"), method="in_place_pressure", **POPPED)
    assert asked(before_signing, job) == []
