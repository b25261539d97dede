"""A wedge scanner types what the hand-tag's code holds into the bench's field."""

import pytest
from django.urls import reverse

from inspections.models import Inspection
from tests import factories

pytestmark = pytest.mark.django_db


def scan(client, typed):
    asked = {"device": typed, "activity": "bench_test", "done_on": "2024-05-20"}
    return client.post(reverse("bench_start"), asked)


@pytest.mark.parametrize(
    "code",
    [
        "http://testserver/devices/{}/",
        "http://testserver/devices/{}",
        "https://relief.plant.example/devices/{}/",
        "https://relief.plant.example/fleet/devices/{}/",
        "HTTPS://RELIEF.PLANT.EXAMPLE/devices/{}/",
        "  https://relief.plant.example/devices/{}/\r\n",
    ],
)
def test_the_code_of_a_hand_tag_opens_the_job_of_its_device(shop, mechanic, settings, code):
    settings.PUBLIC_URL = "https://relief.plant.example/fleet"
    answer = scan(mechanic, code.format(shop.device.pk))
    job = Inspection.objects.open().get()
    assert job.device == shop.device
    assert answer.status_code == 302 and answer.url == f"/bench/{job.pk}/arrival/"


@pytest.mark.parametrize(
    "code",
    [
        "https://another.plant.example/devices/{}/",  # its device of that number is not ours
        "https://relief.plant.example/positions/{}/",
        "https://relief.plant.example/devices/{}/more/",
        "https://relief.plant.example/devices/x{}/",
        "https://[/devices/{}/",
        "http:///devices/{}/",
    ],
)
def test_any_other_address_opens_nothing_and_is_said(shop, mechanic, settings, code):
    settings.PUBLIC_URL, settings.ALLOWED_HOSTS = "https://relief.plant.example", ["testserver"]
    answer = scan(mechanic, code.format(shop.device.pk))
    assert answer.status_code == 422
    assert "the code of a hand-tag that this site printed" in answer.content.decode()
    assert not Inspection.objects.open().exists()


def test_a_device_of_another_site_is_not_there(shop, mechanic):
    other = factories.DeviceFactory(number="ELSEWHERE")
    answer = scan(mechanic, f"http://testserver/devices/{other.pk}/")
    assert answer.status_code == 422
    assert "ELSEWHERE" not in answer.content.decode()
