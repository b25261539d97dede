"""What the bench answers while a pop, a gauge, a tag or a day is typed; and work done by others.

150 % of the cold test pressure, and what a first pop points to: API RP 576 6.2.9. A gauge in range,
in date, and no worse than a quarter of the tolerance: as a US NRC inspection finding states it.
"""

import pytest
from django.urls import reverse

from fleet.faults import Refused
from fleet.models import Device
from inspections.models import Inspection, Method
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.shop import quantity
from tests.inspections.views.bench.pages import fields_of, send, stored, url

pytestmark = pytest.mark.django_db


def said(client, job, about, **typed):
    return text(client.get(reverse("bench_judge", args=[job.pk, about]), typed))


@pytest.mark.parametrize(
    ("about", "typed", "words"),
    [
        ("as_found", {"first_pop": "151 psig"}, "in tolerance"),
        ("as_found", {"first_pop": "158 psig"}, "pop it again"),
        ("as_found", {"first_pop": "158 psig", "later_pops": "151 psig"}, "deposits or sticking"),
        ("as_found", {"no_lift_at": "225 psig"}, "stuck shut"),
        ("as_found", {"first_pop": "170 psig", "cap_rig": "165 psig"}, "above the cap of 165 psig"),
        ("as_found", {"first_pop": "150 m"}, "not a pressure yet"),
        ("as_left", {"as_left_pop": "150.5 psig"}, "in tolerance"),
        ("gauge_range", {"gauge_range": "0 to 100 psig", "first_pop": "151 psig"}, "range"),
        ("gauge_range", {"gauge_range": "0 to 300 psig", "first_pop": "151 psig"}, "inside it"),
        ("gauge_due_on", {"gauge_due_on": "2020-01-01"}, "2020-01-01"),
        ("tag_typed", {"tag_typed": "PSV-9"}, "stood at PSV-1, not at PSV-9"),
        ("tag_typed", {"tag_typed": "PSV-1"}, "the device stood there"),
        ("done_on", {"done_on": "2031-01-01"}, "not in the future"),
    ],
)
def test_it_is_said_at_the_field_while_it_is_typed(mechanic, job, about, typed, words):
    assert words in said(mechanic, job, about, **typed)


def test_with_no_cap_entered_no_number_is_shown(mechanic, job):
    assert "Stop at" not in text(mechanic.get(url(job, "as_received")))
    send(mechanic, job, "as_received", first_pop="151 psig", cap_owner="180 psig", cap_rig="2 barg")
    assert "Stop at <b>2 barg</b>" in text(mechanic.get(url(job, "as_received")))


def test_the_first_pop_is_corrected_in_the_open_and_never_becomes_another(mechanic, job):
    send(mechanic, job, "as_received", first_pop="158 psig", later_pops="151 psig")
    page = send(mechanic, job, "as_received", first_pop="151 psig", later_pops="")
    assert page.status_code == 422 and "a later one never takes its place" in text(page)
    page = send(mechanic, job, "as_received", first_pop="159 psig")
    assert page.status_code == 422 and "why the first pop is no longer 158 psig" in text(page)
    send(mechanic, job, "as_received", first_pop="159 psig", first_pop_correction="misread")
    assert "from 158 psig to 159 psig" in stored(job).remarks
    assert str(stored(job).pops.get(order=1).pressure) == "159 psig"


def test_an_outside_shops_work_is_entered_here_and_verified_by_another(shop, mechanic, second):
    mechanic.post(
        reverse("bench_start"),
        {"device": "D-1", "activity": "bench_test", "done_on": "2024-05-20", "shop": "Quill Works"},
    )
    job = Inspection.objects.open().get()
    send(mechanic, job, "as_received", first_pop="151 psig")
    send(mechanic, job, "as_left", as_left_pop="150 psig")
    page = send(mechanic, job, "seal", seal_left="Q-7")
    assert "certificate" in text(page) and "who did the work" in text(page)
    assert "Sign as" not in text(page)
    sign = reverse("bench_sign", args=[job.pk])
    assert mechanic.post(sign, {"version": job.version}).status_code == 409
    page = send(mechanic, job, "seal", certificate="QW-1188", done_by_name="R. Vane")
    mechanic.post(sign, fields_of(page))
    record = stored(job)
    assert (record.done_by.name, record.done_by.is_active) == ("R. Vane", False)
    verify = reverse("inspection_verify", args=[job.pk])
    page = second.get(reverse("inspection", args=[job.pk]))
    second.post(verify, fields_of(page, verify))
    assert stored(job).verified_by == shop.second


def test_a_new_device_comes_on_its_makers_certificate_and_has_no_as_found(shop, mechanic):
    factories.DeviceFactory(site=shop.site, model=shop.model, number="D-NEW")
    data = {
        "device": "D-NEW",
        "activity": "bench_test",
        "done_on": "2024-05-20",
        "certified_by": "maker",
    }
    mechanic.post(reverse("bench_start"), data)
    job = Inspection.objects.open().get()
    assert job.method == Method.MAKER
    seen = {"transport": "no damage in transport", "openings": "protected"}
    send(mechanic, job, "receipt", received_on="2024-05-28", set_read="150 psig", **seen)
    send(mechanic, job, "as_left", as_left_pop="150 psig")
    page = send(mechanic, job, "seal", certificate="M-1", done_by_name="Maker's tester")
    mechanic.post(reverse("bench_sign", args=[job.pk]), fields_of(page))
    assert stored(job).signed_at is not None


@pytest.mark.parametrize("activity", ["bench_test", "overhaul"])
def test_a_device_that_has_served_is_not_new_whatever_method_is_chosen(shop, activity):
    """Its first pop is read, or waived with a reason: no certificate stands for it."""
    job = shop.open(activity)
    shop.save(job, method=Method.MAKER, certificate="M-2", pops={("as_left", 1): "150 psig"})
    tester = factories.UserFactory(is_active=False)
    Inspection.objects.filter(pk=job.pk).update(done_by=tester)
    with pytest.raises(Refused, match="first pop"):
        shop.sign(job)


def test_whoever_signs_for_an_outside_shops_work_is_not_who_verifies_it(shop, mechanic):
    """Also where another person opened the job and typed everything."""
    data = {"device": "D-1", "activity": "bench_test", "done_on": "2024-05-20", "shop": "Hartley"}
    mechanic.post(reverse("bench_start"), data)
    job = Inspection.objects.open().get()
    shop.popped(job, certificate="H-1")
    Inspection.objects.filter(pk=job.pk).update(done_by=factories.UserFactory(is_active=False))
    shop.sign(job, by=shop.second)
    for person in (shop.second, shop.mechanic):
        with pytest.raises(Refused, match="not the one who entered it"):
            shop.verify(job, by=person)
    shop.verify(job, by=factories.MembershipFactory(site=shop.site, role="mechanic").user)
    assert stored(job).locked_at is not None


def test_a_reseat_says_how_far_below_and_what_the_code_allows(shop, mechanic, job):
    page = said(mechanic, job, "reseat", as_left_pop="150 psig", reseat="140 psig")
    assert "blowdown 10 psig, 6.7 % of where it opened" in page and "no ring is set by it" in page
    assert "is above" in said(mechanic, job, "reseat", as_left_pop="150 psig", reseat="151 psig")
    assert said(mechanic, job, "reseat", as_left_pop="150 psig", reseat="") == ""


def test_a_spring_asked_for_more_than_it_may_be_reset_to_is_questioned(shop, mechanic, job):
    """150 psig is asked; 46 CFR 54.15-10(g) allows 10 % of the nameplate's 120 psig."""
    assert "right spring" not in text(mechanic.get(url(job, "as_left")))
    Device.objects.filter(pk=shop.device.pk).update(nameplate_set=quantity("120 psig"))
    assert "more than 10 % away" in text(mechanic.get(url(job, "as_left")))
