"""What is typed at the bench: refused at its field, kept as typed, compared while typing."""

from datetime import date

import pytest
from django.urls import reverse

from inspections.models import Inspection, PopTest
from tests.fleet.views.signed_in import text
from tests.inspections.shop import AT, SCREW
from tests.inspections.views.bench.pages import RING, fields_of, send, stored, url

pytestmark = pytest.mark.django_db


# What is typed wrongly


@pytest.mark.parametrize(
    ("step", "field", "typed"),
    [
        ("as_received", "first_pop", "9**9**9"),
        ("as_received", "first_pop", "21 1/2/3"),
        ("as_received", "first_pop", "12 m"),
        ("as_received", "first_pop", "150"),
        ("as_received", "cold_test_pressure", "0 psig"),
        ("as_received", "later_pops", "150 psig; 21 1/2/3"),
        ("as_found", "lower_ring", "5/0"),
        ("as_found", "lower_ring", "150 psig"),
        ("as_found", "lower_ring", "-"),
        ("as_left", "leak_rate", "some"),
        ("arrival", "done_on", "2024-13-01"),
        ("arrival", "done_on", "2024-06-02"),
    ],
)
def test_what_cannot_be_read_is_said_at_the_field_and_nothing_is_saved(
    mechanic, job, step, field, typed
):
    page = send(mechanic, job, step, follow=False, **{field: typed})
    assert page.status_code == 422
    errors = page.context["form"].errors
    assert list(errors) == [field]
    assert fields_of(page)[field] == typed  # it still stands in its box
    assert stored(job).version == job.version
    assert not job.pops.exists() and not job.settings.exists()


@pytest.mark.parametrize(
    ("step", "typed", "field"),
    [
        ("as_received", {"first_pop": "150 psig", "no_lift_at": "200 psig"}, "no_lift_at"),
        ("as_received", {"first_pop": "150 psig", "first_pop_result": "no_lift"}, "first_pop"),
        (
            "as_received",
            {"no_lift_at": "200 psig", "first_pop_result": "opened"},
            "first_pop_result",
        ),
        ("as_received", {"later_pops": "150 psig"}, "first_pop"),
        ("as_received", {"first_pop": "1 psig", "waived_reason": "fouled"}, "waived_reason"),
        ("as_found", {"lower_ring__datum": "lapped seat"}, "lower_ring"),
        ("reassemble", {"lower_ring__changed_reason": "bulletin"}, "lower_ring"),
        (
            "as_found",
            {"lower_ring": "5", "lower_ring__missing_reason": "no"},
            "lower_ring-missing_reason",
        ),
        ("inspect", {"0-part": "disc"}, "0-condition"),
        ("inspect", {"0-value": "0.3 in"}, "0-part"),
    ],
)
def test_what_contradicts_itself_is_said_at_its_field(mechanic, job, step, typed, field):
    page = send(mechanic, job, step, follow=False, **typed)
    assert page.status_code == 422 and field in page.context["form"].errors
    assert stored(job).version == job.version


def test_fractions_and_other_units_are_kept_as_they_are_typed(shop, mechanic, job):
    shop.point(setting="lever_play", measure="length", positive="up", datum="lifting nut")
    shop.point(**SCREW, datum="first thread")
    typed = {"lever_play": "1/16", "compression_screw": "15 1/4"}
    send(mechanic, job, "as_found", lower_ring="-7 notches", **typed)
    values = dict(job.settings.values_list("setting", "value"))
    assert {name: str(value) for name, value in values.items()} == {
        "lower_ring": "-7 notches",
        "lever_play": "1/16 in",
        "compression_screw": "15 1/4 turns",
    }
    page = fields_of(mechanic.get(url(job, "as_found")))
    assert page["compression_screw"] == "15 1/4 turns"


def test_no_lift_is_kept_as_a_bound_not_as_a_pop(mechanic, job):
    send(mechanic, job, "as_received", no_lift_at="225 psig")
    pop = job.pops.get()
    assert (pop.bound, pop.result, str(pop.pressure)) == ("above", "no_lift", "225 psig")
    page = fields_of(mechanic.get(url(job, "as_received")))
    assert (page["no_lift_at"], page["first_pop"]) == ("225 psig", "")


# While typing


@pytest.mark.parametrize(
    ("typed", "datum", "words"),
    [
        ("5", "", "equal"),
        ("7 notches", "", "off by 2 notches (lower ring), above target"),
        ("5", "lapped seat", "not comparable: datum was ring touching the disc holder"),
        ("5/0", "", "not a reading yet"),
        ("", "", ""),
    ],
)
def test_an_as_left_is_compared_while_it_is_typed(mechanic, job, typed, datum, words):
    address = reverse("bench_compare", args=[job.pk, RING])
    page = mechanic.get(address, {RING: typed, f"{RING}-datum": datum})
    assert page.status_code == 200
    assert words in text(page) and (words or text(page) == "")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("150 psig", "in tolerance: 0.00 % of 150 psig, band 145.5 psig to 154.5 psig"),
        ("154.5 psig", "in tolerance"),
        ("154.6 psig", "opened high"),
        ("9**9**9", "not a pressure yet"),
    ],
)
def test_a_pop_is_judged_while_it_is_typed(mechanic, job, typed, words):
    address = reverse("bench_judge", args=[job.pk, "as_left"])
    assert words in text(mechanic.get(address, {"as_left_pop": typed}))


def test_what_is_only_typed_is_not_saved(mechanic, job):
    mechanic.get(reverse("bench_judge", args=[job.pk, "as_left"]), {"as_left_pop": "150 psig"})
    assert not job.pops.exists() and stored(job).version == job.version


def test_nothing_is_judged_at_a_stage_that_is_none(mechanic, job):
    assert mechanic.get(reverse("bench_judge", args=[job.pk, "later"])).status_code == 404


def test_a_target_that_a_later_overhaul_has_made_doubtful_is_marked(shop, mechanic):
    silent = shop.open("overhaul", day=date(2023, 5, 1))
    shop.popped(silent, settings={(RING, "as_found"): {"missing_reason": "sheet lost"}})
    Inspection.objects.filter(pk=silent.pk).update(done_by=shop.mechanic, signed_at=AT)
    shop.verify(silent)
    page = text(mechanic.get(url(shop.open("overhaul"), "reassemble")))
    assert "Do not trust this target" in page
    assert "no as-left in the last overhaul, on 2023-05-01" in page


def test_a_later_pop_that_never_came_stays_a_bound_where_the_list_moves_it(mechanic, job):
    send(mechanic, job, "as_received", first_pop="158 psig", later_pops="156 psig; 225 psig")
    PopTest.objects.filter(inspection=job, order=3).update(bound=PopTest.Bound.ABOVE)
    send(mechanic, job, "as_received", later_pops="225 psig; 151 psig")
    later = PopTest.objects.filter(inspection=job, order__gt=1).order_by("order")
    assert [(str(pop.pressure), pop.bound) for pop in later] == [
        ("225 psig", PopTest.Bound.ABOVE),
        ("151 psig", PopTest.Bound.EXACT),
    ]
