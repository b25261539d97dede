"""A new device on its maker's certificate: its own short walk, from receipt to signature."""

import pytest
from django.urls import reverse

from inspections.actions.start import correct
from inspections.forms.walk import walk_of
from inspections.models import Inspection
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.shop import AT
from tests.inspections.views.bench.pages import fields_of, send, stored, url

pytestmark = pytest.mark.django_db

WHOLE = {"transport": "no damage in transport", "openings": "protected"}
READ = {"received_on": "2024-05-28", "tag_typed": "PSV-1", "set_read": "150 psig"}


def opened(shop, mechanic, kind="spring", **columns) -> Inspection:
    columns = {"number": "D-NEW", "kind": kind, "inlet": "1.5 in", "orifice": "F"} | columns
    device = factories.DeviceFactory(site=shop.site, model=shop.model, **columns)
    data = {"device": device.number, "activity": "bench_test", "certified_by": "maker"}
    mechanic.post(reverse("bench_start"), data | {"done_on": "2024-05-20"})
    return Inspection.objects.open().get()


def missing(mechanic, job) -> str:
    return text(mechanic.get(reverse("bench_sign", args=[job.pk])))


def test_it_is_received_popped_by_its_maker_and_signed_for(shop, mechanic):
    job = opened(shop, mechanic)
    assert walk_of(job) == ("receipt", "as_left", "seal")
    page = send(mechanic, job, "receipt", **READ, **WHOLE)
    assert page.redirect_chain[-1][0] == url(job, "as_left")
    assert "make it an overhaul" not in text(page)
    page = send(mechanic, job, "as_left", as_left_pop="150 psig")
    page = send(mechanic, job, "seal", certificate="M-1", done_by_name="Maker's tester")
    mechanic.post(reverse("bench_sign", args=[job.pk]), fields_of(page))
    assert stored(job).signed_at is not None
    lines = [(f.part, f.measure, f.value, f.condition) for f in job.findings.all()]
    assert lines == [
        ("nameplate", "set pressure", "150 psig", "measured"),
        ("outside", "", "", "no damage in transport"),
        ("openings", "", "", "protected"),
    ]


def test_what_was_not_looked_at_is_named_before_it_is_signed(shop, mechanic):
    job = opened(shop, mechanic)
    send(mechanic, job, "as_left", as_left_pop="150 psig")
    page = missing(mechanic, job)
    for words in (
        "the day it was received",
        "as it is stamped",
        "no damage in transport",
        "protected",
    ):
        assert words in page
    assert "Sign as" not in page


def test_a_vent_says_its_vacuum_side_too(shop, mechanic):
    assert walk_of(opened(shop, mechanic, kind="vent"))[1:3] == ("as_left", "vac_left")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"set_read": "160 psig"}, "150 psig is asked at PSV-1"),
        ({"inlet_read": "2 in"}, "1.5 in is on record"),
        ({"orifice_read": "G"}, "F is on record"),
        ({"transport": "damaged in transport"}, "what was done about it"),
        ({"openings": "open or unprotected"}, "what was done about it"),
    ],
)
def test_what_is_not_as_ordered_is_answered_in_words(shop, mechanic, typed, words):
    job = opened(shop, mechanic)
    typed = READ | WHOLE | typed
    send(mechanic, job, "receipt", **typed)
    assert words in missing(mechanic, job)
    [field] = [name for name in typed if name not in ("received_on", "tag_typed")
               and (READ | WHOLE).get(name) != typed[name]]  # fmt: skip
    send(mechanic, job, "receipt", **{f"{field}_done": "returned to the maker, came back right"})
    assert words not in missing(mechanic, job)
    assert job.findings.filter(action="returned to the maker, came back right").exists()


def test_sizes_are_the_same_however_they_are_spaced(shop, mechanic):
    job = opened(shop, mechanic)
    send(mechanic, job, "receipt", **READ, **WHOLE, inlet_read="1.5in", orifice_read="f")
    assert "is on record" not in missing(mechanic, job)


def test_a_plate_that_cannot_be_read_is_said_so(shop, mechanic):
    job = opened(shop, mechanic)
    send(mechanic, job, "receipt", **WHOLE, set_read_done="painted over; the order says 150 psig")
    assert "as it is stamped" not in missing(mechanic, job)
    assert job.findings.get(part="nameplate").condition == "not read"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"set_read": "150 mm"}, "150 mm"),
        ({"received_on": "2031-01-01"}, "not in the future"),
        ({"received_on": "2024-05-01"}, "not after 2024-05-01"),
        ({"transport_done": "straightened"}, "what was seen?"),
        ({"method": "in_place_assist"}, "Select a valid choice"),
    ],
)
def test_bad_input_is_refused_at_the_field_and_stays_there(shop, mechanic, typed, words):
    job = opened(shop, mechanic)
    page = send(mechanic, job, "receipt", **typed)
    assert page.status_code == 422 and words in text(page)
    assert stored(job).received_on is None and not job.findings.exists()


def test_a_test_that_is_ours_after_all_walks_as_one(shop, mechanic):
    job = opened(shop, mechanic)
    send(mechanic, job, "receipt", **READ, **WHOLE, method="bench")
    assert "as_received" in walk_of(stored(job))
    assert "the first pop" in missing(mechanic, job)


def test_a_device_that_has_served_is_not_received_as_new(shop):
    job = shop.open("bench_test")
    job = shop.save(job, method="maker")
    assert walk_of(job)[:2] == ("arrival", "as_received")


def test_a_correction_does_not_ask_again_for_what_nobody_can_look_at_now(shop, mechanic):
    job = opened(shop, mechanic)
    tester = factories.UserFactory(is_active=False)
    columns = {"done_by": tester, "certificate": "M-1", "locked_at": AT, "accepted_by": shop.by}
    factories.PopTestFactory(inspection=job, stage="as_left", order=1)
    Inspection.objects.filter(pk=job.pk).update(**columns)
    again = correct(stored(job), by=shop.mechanic, at=AT)
    assert "damage in transport" not in missing(mechanic, again)
