"""The bench, from taking a device on to the second person's signature."""

from datetime import date

import pytest
from django.urls import reverse

from inspections.models import Inspection, SettingReading
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.shop import DAY
from tests.inspections.views.bench.pages import fields_of, send, stored, url

pytestmark = pytest.mark.django_db


# The whole walk


def test_a_job_is_walked_from_the_bench_to_the_second_signature(shop, mechanic, second):
    page = mechanic.get(reverse("bench"))
    fields = fields_of(page, reverse("bench_start"))
    page = mechanic.post(
        reverse("bench_start"), fields | {"device": "psv-1", "done_on": "2024-05-20"}, follow=True
    )
    job = Inspection.objects.open().get()
    assert page.redirect_chain[-1][0] == url(job, "arrival")
    assert (job.device, job.position, job.activity) == (shop.device, shop.place, "overhaul")

    page = send(mechanic, job, "arrival", tag_typed="PSV-1", seal_found="broken")
    assert page.redirect_chain[-1][0] == url(job, "as_received")
    send(mechanic, job, "as_received", first_pop="158 psig", later_pops="153 psig; 152.5 psig")
    page = send(mechanic, job, "as_found", lower_ring="4")
    assert page.redirect_chain[-1][0] == url(job, "inspect")
    send(mechanic, job, "inspect", **{"0-part": "disc", "0-condition": "scored"})
    send(mechanic, job, "reassemble", lower_ring="5")
    send(mechanic, job, "as_left", as_left_pop="150 psig", leak_rate="0 bubbles/min")
    page = send(mechanic, job, "seal", seal_left="LW-118")
    assert page.redirect_chain[-1][0] == reverse("bench_sign", args=[job.pk])
    assert "Sign as" in text(page)
    mechanic.post(reverse("bench_sign", args=[job.pk]), fields_of(page))
    assert stored(job).done_by == shop.mechanic

    own = mechanic.get(reverse("inspection", args=[job.pk]))
    assert "a second person verifies" in text(own)
    page = second.get(reverse("inspection", args=[job.pk]))
    verify = reverse("inspection_verify", args=[job.pk])
    page = second.post(verify, fields_of(page, verify), follow=True)
    assert "Verified and locked" in text(page)
    record = stored(job)
    assert (record.verified_by, record.event.done_on) == (shop.second, DAY)
    pops = [str(pop.pressure) for pop in record.pops.order_by("stage", "order")]
    assert pops == ["158 psig", "153 psig", "152.5 psig", "150 psig"]
    assert record.pops.get(stage="as_found", order=1).verdict == "high"
    assert str(SettingReading.objects.get(inspection=job, stage="as_left").value) == "5 notches"
    assert record.findings.get().part == "disc"
    assert shop.due().due_on == date(2029, 5, 20)


def test_a_half_done_job_is_left_and_taken_up_where_it_stood(mechanic, job):
    page = send(mechanic, job, "as_received", first_pop="151 psig", leave="1")
    assert page.redirect_chain[-1][0] == reverse("bench")
    assert url(job, "as_received") in text(page)
    assert fields_of(mechanic.get(url(job, "as_received")))["first_pop"] == "151 psig"


@pytest.mark.parametrize("typed", ["D-1", "d-1", "psv-1"])
def test_a_device_is_taken_on_by_its_number_or_its_tag(shop, mechanic, typed):
    data = {"device": typed, "activity": "bench_test", "done_on": "2024-05-20"}
    mechanic.post(reverse("bench_start"), data)
    assert Inspection.objects.open().get().device == shop.device


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"device": "D-404"}, "“D-404”: a device number, a serial, or a tag"),
        ({"device": "S-1"}, "one device; it could be"),
        ({"done_on": "2024-06-02"}, "not in the future"),
        ({"done_on": "soon"}, "Enter a valid date"),
    ],
)
def test_what_cannot_be_taken_on_is_said_at_its_field(shop, mechanic, change, words):
    for number in ("D-8", "D-9"):
        factories.DeviceFactory(site=shop.site, number=number, serial="S-1")
    data = {"device": "D-1", "activity": "overhaul", "done_on": "2024-05-20"} | change
    page = mechanic.post(reverse("bench_start"), data)
    assert page.status_code == 422 and words in text(page)
    assert not Inspection.objects.open().exists()


def test_a_device_of_another_site_is_not_found(shop, mechanic):
    factories.DeviceFactory(number="D-77")
    data = {"device": "D-77", "activity": "overhaul", "done_on": "2024-05-20"}
    assert mechanic.post(reverse("bench_start"), data).status_code == 422


# Gates


def test_the_walk_says_what_to_read_before_stripping_and_stays_there(mechanic, job):
    page = mechanic.get(url(job, "inspect"))
    assert "do not strip the valve" in text(page)
    page = send(mechanic, job, "inspect", **{"0-part": "disc", "0-condition": "scored"})
    assert page.redirect_chain[-1][0] == url(job, "inspect")
    assert job.findings.exists()  # what was typed is kept all the same


def test_the_signature_waits_for_everything(shop, mechanic, job):
    page = mechanic.get(reverse("bench_sign", args=[job.pk]))
    for words in ("First pop", "Lower ring as found", "Lower ring as left", "As left pop"):
        assert words in text(page)
    posted = mechanic.post(reverse("bench_sign", args=[job.pk]), {"version": job.version})
    assert posted.status_code == 409 and stored(job).signed_at is None


def test_an_as_left_off_its_target_waits_for_a_reason_and_a_name(shop, mechanic, job):
    send(mechanic, job, "as_received", first_pop="151 psig")
    send(mechanic, job, "as_found", lower_ring="5")
    send(mechanic, job, "reassemble", lower_ring="7")
    send(mechanic, job, "as_left", as_left_pop="150 psig")
    sign = reverse("bench_sign", args=[job.pk])
    assert "off by 2 notches" in text(mechanic.get(sign))
    send(mechanic, job, "reassemble", lower_ring__changed_reason="maker's bulletin 7")
    reading = job.settings.get(stage="as_left")
    assert (reading.changed_reason, reading.changed_by) == ("maker's bulletin 7", shop.mechanic)
    mechanic.post(sign, fields_of(mechanic.get(sign)))
    assert stored(job).signed_at is not None


def test_changing_a_signed_job_says_that_it_must_be_signed_again(shop, mechanic, job, signed):
    page = send(mechanic, job, "seal", seal_left="LW-119")
    assert "sign it again" in text(page) and stored(job).signed_at is None


def test_a_version_read_before_is_not_verified(shop, mechanic, second, job, signed):
    verify = reverse("inspection_verify", args=[job.pk])
    read = fields_of(second.get(reverse("inspection", args=[job.pk])), verify)
    send(mechanic, job, "seal", seal_left="LW-119")
    shop.sign(job)
    page = second.post(verify, read, follow=True)
    assert "changed since you read it" in text(page)
    assert stored(job).locked_at is None
