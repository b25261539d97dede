"""When a verified record counts towards a date, and what it leaves behind.

The rules: it counts when the device went back fit, that is, its as-left was accepted within
tolerance and it was reinstalled or repaired. Bands: ASME VIII above 70 psi, 3 % (UG-134(d) via
API RP 576 6.2.9.8): 145.5 to 154.5 psig about 150.
"""

from datetime import date
from decimal import Decimal

import pytest

from fleet.models import ServiceEvent
from fleet.reports import proof
from inspections.models import Inspection, PopTest, Question
from tests.inspections.shop import AT, DAY, Shop, quantity

pytestmark = pytest.mark.django_db
FIVE_YEARS_ON = date(2029, 5, 20)


@pytest.fixture
def shop():
    return Shop()


def test_a_test_in_tolerance_moves_the_date(shop):
    assert shop.due().state == "no_record"
    record = shop.finish(shop.open())
    assert shop.due().due_on == FIVE_YEARS_ON
    assert (shop.due().event, shop.due().device) == (record.event, shop.device)
    assert record.disposition == "repaired"  # an as-left in tolerance says so


def test_every_pop_keeps_the_band_of_that_day_and_its_exact_deviation(shop):
    """API RP 576: percent deviation = (first pop - CDTP) / CDTP x 100."""
    record = shop.finish(shop.open(), found="143.35 psig")
    first = record.pops.get(stage="as_found")
    assert (str(first.band_low), str(first.band_high)) == ("145.5 psig", "154.5 psig")
    assert str(first.reference) == "150 psig" and first.tolerance == shop.band
    assert (first.deviation_percent, first.verdict) == (Decimal("-4.4333"), "low")
    assert record.event.as_found_percent == Decimal("-4.4333")


def test_an_as_found_failure_that_was_repaired_counts(shop):
    shop.finish(shop.open(), found="170 psig")
    assert shop.due().due_on == FIVE_YEARS_ON


@pytest.mark.parametrize("disposition", ["reinstalled", "repaired"])
def test_a_device_that_went_back_counts(shop, disposition):
    assert shop.finish(shop.open(), disposition=disposition).event is not None


@pytest.mark.parametrize(
    ("columns", "why"),
    [
        ({"left": None, "disposition": "returned_untested"}, "as-left missing"),
        ({"left": "145.4 psig"}, "as-left below the band"),
        ({"left": "154.6 psig", "disposition": "repaired"}, "as-left above the band"),
        ({"disposition": "scrapped"}, "scrapped"),
        ({"disposition": "replaced"}, "another device went back"),
        ({"disposition": "returned_untested"}, "untested"),
    ],
)
def test_what_did_not_go_back_fit_does_not_count(shop, columns, why):
    record = shop.finish(shop.open(), **columns)
    assert record.locked_at is not None and not record.is_counted, why
    assert record.event.as_found_verdict == "in"  # what was found stays in the ledger
    assert shop.due().state == "no_record"


@pytest.mark.parametrize(
    "left",
    [
        {"pressure": "160 psig", "bound": "above"},
        {"pressure": "150 psig", "result": "no_lift"},
        {"pressure": "150 psig", "result": "stuck_open"},
    ],
)
def test_a_device_that_sticks_as_left_does_not_count(shop, left):
    job, pressure = shop.open(), left.pop("pressure")
    shop.popped(job, left=pressure, disposition="repaired")
    PopTest.objects.filter(inspection=job, stage="as_left").update(**left)
    shop.sign(job)
    shop.verify(job)
    assert not Inspection.objects.get(pk=job.pk).is_counted
    assert shop.due().state == "no_record"


def test_a_stuck_device_left_as_it_was_does_not_count(shop):
    job = shop.open()
    stuck = {"pressure": quantity("225 psig"), "bound": "above", "result": "no_lift"}
    shop.save(job, pops={("as_found", 1): stuck}, disposition="returned_untested")
    shop.sign(job)
    shop.verify(job)
    record = Inspection.objects.get(pk=job.pk)
    assert not record.is_counted and shop.due().state == "no_record"
    assert record.pops.get().verdict == "high"  # no lift at 150 % of set: stuck shut
    said = (record.event.as_found_verdict, record.event.as_found_bound)
    assert said == ("high", "above") and record.event.as_found_percent == 50


def test_without_a_disposition_or_a_tolerance_nothing_is_assumed():
    shop = Shop(tolerance="unknown-to-the-library")
    record = shop.finish(shop.open())
    assert (record.disposition, record.event) == ("", None)


def test_without_a_tolerance_a_named_disposition_decides():
    shop = Shop(tolerance="unknown-to-the-library")
    assert shop.finish(shop.open(), disposition="repaired").event is not None


def test_the_record_s_own_cold_test_pressure_is_what_it_is_judged_by(shop):
    record = shop.finish(
        shop.open(), cold_test_pressure="153 psig", found="154 psig", left="157 psig"
    )
    first, left = record.pops.order_by("stage")
    assert str(first.reference) == "153 psig"
    assert left.verdict == "in"  # 148.41 to 157.59


def test_a_cold_test_pressure_of_zero_judges_nothing(shop):
    record = shop.finish(shop.open(), cold_test_pressure="0 psig")
    assert {pop.verdict for pop in record.pops.all()} == {""}


def test_a_mistyped_pressure_is_kept_and_asked_about(shop):
    record = shop.finish(shop.open(), found="151000 psig")
    first = record.pops.get(stage="as_found")
    assert (first.verdict, first.deviation_percent) == ("high", None)
    assert record.questions.filter(code="pop_implausible").exists()


@pytest.mark.parametrize("activity", ["lever", "in_place_test", "overhaul"])
def test_what_is_earned_by_the_device_counts_where_it_is_fitted(activity):
    shop = Shop(activity=activity)
    shop.finish(shop.open(activity), disposition="reinstalled")
    assert shop.due().due_on == FIVE_YEARS_ON


def test_a_lever_test_without_a_disposition_does_not_count():
    """As an old sheet brings it; the bench would not let it be signed."""
    shop = Shop(activity="lever")
    job = shop.open("lever")
    Inspection.objects.filter(pk=job.pk).update(done_by=shop.mechanic, signed_at=AT)
    shop.verify(job)
    assert shop.due().state == "no_record"


@pytest.mark.parametrize("disposition", ["reinstalled", "repaired", "replaced"])
def test_a_disc_change_counts_also_with_another_disc(disposition):
    shop = Shop(activity="disc_change")
    job = shop.save(shop.open("disc_change"), disposition=disposition)
    shop.sign(job)
    shop.verify(job)
    assert shop.due().due_on == FIVE_YEARS_ON


@pytest.mark.parametrize("activity", ["visual", "capacity_review"])
def test_what_is_looked_at_in_place_counts_for_the_place(activity):
    shop = Shop(activity=activity)
    job = shop.open(activity)
    shop.sign(job)
    shop.verify(job)
    event = ServiceEvent.objects.get()
    assert (event.position, event.device) == (shop.place, None)
    assert shop.due().due_on == FIVE_YEARS_ON


def test_a_visual_of_a_device_on_the_shelf_counts_nowhere_and_is_asked_about():
    shop = Shop(activity="visual")
    shelf = shop.device.__class__.objects.create(number="D-2", site=shop.site, kind="spring")
    job = shop.open("visual", device=shelf)
    shop.sign(job)
    shop.verify(job)
    assert not ServiceEvent.objects.exists()
    assert Question.objects.get().code == "stood_nowhere"


@pytest.mark.parametrize(
    ("disposition", "counted"), [("replaced", True), ("reinstalled", False), ("", False)]
)
def test_a_replacement_counts_when_another_device_took_its_place(disposition, counted):
    shop = Shop(activity="replacement")
    job = shop.save(shop.open("replacement"), disposition=disposition)
    Inspection.objects.filter(pk=job.pk).update(done_by=shop.mechanic, signed_at=AT)
    shop.verify(job)
    assert ServiceEvent.objects.exists() == counted


def test_a_shop_test_sees_nothing_of_the_piping():
    shop = Shop(activity="visual")
    shop.finish(shop.open("overhaul"))
    assert shop.due().state == "no_record"


def test_a_test_in_place_never_stands_for_a_bench_test(shop):
    """API RP 576 6.3."""
    shop.finish(shop.open("in_place_test"))
    assert shop.due().state == "no_record"


def test_the_installation_decides_where_it_counts_never_the_tag_on_the_sheet(shop):
    """S1 leaves PSV-1, the spare S2 goes in, S1 is overhauled a month later as “PSV-1”."""
    spell = shop.device.installations.get()
    shop.remove(spell, date(2024, 4, 1))
    spare = shop.device.__class__.objects.create(number="D-2", site=shop.site, kind="spring")
    shop.fit(spare, shop.place, date(2024, 4, 1))
    shop.finish(shop.open(day=DAY), tag_typed="PSV-1")
    assert shop.due().state == "no_record" and shop.due().device == spare
    other = shop.position("PSV-2")
    owed = shop.owe(other, "bench_test")
    shop.fit(shop.device, other, date(2024, 5, 25))
    assert shop.due(owed).due_on == FIVE_YEARS_ON


def test_everything_a_verification_writes_is_in_the_chain(shop):
    job = shop.open("overhaul")
    shop.save(job, findings=[{"part": "disc", "order": 1, "condition": "scored"}])
    shop.save(job, findings=[{"part": "nozzle", "order": 1, "condition": "worn"}])
    shop.finish(job, tag_typed="PSV-9")
    ours = ("inspections_", "fleet_serviceevent")
    said = [str(d) for d in proof.differences() if d.kind != "row" or d.where.startswith(ours)]
    assert said == []
