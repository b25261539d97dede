"""The medium of a seat test decides how much may leak: it is asked where the leak is typed.

Metal seat on air, orifice over 0.307 in2, up to 1000 psig: 20 bubbles a minute; none on steam for
a minute; 10 cm3/h an inch of inlet on water (API Std 527, from memory).
"""

import pytest
from django.urls import reverse

from fleet.models import Device
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import fields_of, send, stored, url

pytestmark = pytest.mark.django_db
WITH_LIMIT = ("air", "nitrogen", "steam", "water")


@pytest.fixture
def metal(shop, job):
    Device.objects.filter(pk=shop.device.pk).update(orifice="J", seat="metal", inlet="3 in")
    return job


def said(client, job, **typed):
    return text(client.get(reverse("bench_judge", args=[job.pk, "leak_rate"]), typed))


@pytest.mark.parametrize(
    ("medium", "leak", "words"),
    [
        ("air", "20 bubbles/min", "tight enough: limit 20 bubbles/min"),
        ("air", "21 bubbles/min", "leaks too much: limit 20 bubbles/min"),
        ("nitrogen", "20 bubbles/min", "tight enough"),
        ("steam", "1 bubbles/min", "none seen or heard for 1 minute on steam"),
        ("water", "30 cm3/h", "tight enough: limit 30 cm3/h"),
        ("gas", "1 bubbles/min", "no leakage limit is known here for a test on gas"),
        ("", "1 bubbles/min", "the medium is not recorded"),
        ("air", "", "Limit: metal seat on air, orifice over 0.307 in²"),
    ],
)
def test_the_leak_is_held_against_the_limit_of_its_medium_as_typed(
    mechanic, metal, medium, leak, words
):
    answer = said(mechanic, metal, leak_rate=leak, medium=medium)
    assert words in answer and ("API Std 527" in answer) == (medium in WITH_LIMIT)


def test_the_medium_is_asked_where_the_leak_is_typed(mechanic, metal):
    send(mechanic, metal, "as_left", as_left_pop="150 psig", medium="air")
    assert stored(metal).medium == "air"
    assert fields_of(mechanic.get(url(metal, "as_received")))["medium"] == "air"
    send(mechanic, metal, "as_received", first_pop="151 psig", medium="steam")
    assert fields_of(mechanic.get(url(metal, "as_left")))["medium"] == "steam"


def test_a_page_opened_before_the_medium_was_given_does_not_take_it_away(mechanic, metal):
    page = mechanic.get(url(metal, "as_left"))
    send(mechanic, metal, "as_received", first_pop="151 psig", medium="air")
    send(mechanic, metal, "as_left", page=page, as_left_pop="150 psig")
    assert stored(metal).medium == "air"
