"""Signing an instruction and ending it, on their pages; and a model's settings on theirs."""

from datetime import date

import pytest
from django.urls import reverse

from inspections.models import Instruction, SettingPoint
from tests import factories
from tests.fleet.views.signed_in import words
from tests.inspections.shop import Shop
from tests.inspections.views.bench.pages import client_of, fields_of

pytestmark = pytest.mark.django_db
STOP = "ring touching the disc holder"


@pytest.fixture(autouse=True)
def _the_day(settings):
    settings.FIXED_TODAY = date(2024, 6, 1)


@pytest.fixture
def shop():
    shop = Shop()
    shop.point()
    return shop


@pytest.fixture
def engineer(shop):
    return client_of(shop.second)


def sign(client, shop, **typed):
    address = reverse("device_instruct", args=[shop.device.pk])
    page = client.get(address, {"setting": "lower_ring"})
    given = {"value": "7 notches", "source": "manual 4.2", "reason": "chatter"} | typed
    return client.post(address, fields_of(page) | given, follow=True)


def test_an_engineer_signs_one_and_the_device_s_page_shows_it(shop, engineer):
    page = words(sign(engineer, shop))
    row = Instruction.objects.get()
    assert (row.signed_by, row.datum, row.from_on) == (shop.second, STOP, date(2024, 6, 1))
    assert "Lower ring is to be 7 notches from ring touching the disc holder" in page
    assert "signed by" in page and "manual 4.2" in page and "End it" in page


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"value": "5/0"}, "value"),
        ({"value": "21 1/2/3"}, "value"),
        ({"value": "7"}, "value"),
        ({"value": "12 psig"}, "value"),
        ({"value": "1/4 in"}, "value"),
        ({"datum": ""}, "datum"),
        ({"source": ""}, "source"),
        ({"reason": ""}, "reason"),
        ({"from_on": "1924-01-01"}, "from_on"),
        ({"setting": "ring"}, "setting"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_stands(shop, engineer, typed, field):
    page = sign(engineer, shop, **typed)
    assert page.status_code == 422 and list(page.context["form"].errors) == [field]
    assert field == "setting" or fields_of(page)[field] == typed[field]
    assert not Instruction.objects.exists()


def test_an_engineer_of_another_site_signs_nothing_here(shop):
    elsewhere = factories.MembershipFactory(site=shop.site, role="mechanic").user
    factories.MembershipFactory(user=elsewhere, role="engineer")
    address = reverse("device_instruct", args=[shop.device.pk])
    assert client_of(elsewhere).get(address).status_code == 403


def test_it_is_ended_from_a_day(shop, engineer):
    row = factories.InstructionFactory(device=shop.device, from_on=date(2024, 1, 1))
    address = reverse("instruction_end", args=[row.pk])
    wrong = engineer.post(address, {"until_on": "2024-01-01"})
    assert wrong.status_code == 422 and "a day after 2024-01-01" in words(wrong)
    engineer.post(address, {"until_on": "2024-05-01"})
    row.refresh_from_db()
    assert (row.until_on, row.closed_by) == (date(2024, 5, 1), shop.second)


# A model's settings


def test_a_model_is_set_up_and_its_page_shows_it(shop, engineer):
    address = reverse("model_point_new", args=[shop.model.pk])
    typed = {"setting": "Upper Ring", "datum": "flat on the seat", "lead": "1/16 in"}
    given = fields_of(engineer.get(address)) | typed | {"notches_per_turn": "32"}
    page = words(engineer.post(address, given, follow=True))
    point = SettingPoint.objects.get(setting="upper_ring")
    assert (point.measure, point.notches_per_turn, point.required) == ("notches", 32, False)
    assert "0.00195 in a notch, 32 notches a turn" in page


def test_a_bare_ring_is_asked_about_and_what_was_typed_stands(shop, engineer):
    address = reverse("model_point_new", args=[shop.model.pk])
    given = fields_of(engineer.get(address)) | {"setting": "adjusting ring", "datum": "seat"}
    page = engineer.post(address, given)
    assert page.status_code == 422 and "which ring?" in words(page)
    assert fields_of(page)["setting"] == "adjusting ring"


def test_a_datum_that_changes_is_told_to_reach_later_readings_only(shop, engineer):
    point = shop.model.setting_points.get()
    shop.finish(shop.open("overhaul"), settings={("lower_ring", s): "5 notches"
                                                 for s in ("as_found", "as_left")})  # fmt: skip
    address = reverse("model_point", args=[point.pk])
    page = engineer.get(address)
    assert "2 readings on record keep the datum they were read in" in words(page)
    done = engineer.post(address, fields_of(page) | {"datum": "flat on the seat"}, follow=True)
    assert "Records keep the datum they were read in." in words(done)
    point.refresh_from_db()
    assert (point.setting, point.datum) == ("lower_ring", "flat on the seat")
