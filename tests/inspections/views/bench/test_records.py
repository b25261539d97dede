"""Who may do what with a record, and what becomes of it after the bench."""

import pytest
from django.urls import reverse

from fleet.models import ServiceEvent
from inspections.models import Inspection, Question
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import RING, client_of, fields_of, send, stored, url

pytestmark = pytest.mark.django_db


# Who may


@pytest.mark.parametrize("role", ["planner", "engineer", "auditor", "administrator"])
def test_only_a_mechanic_records_and_signs(shop, job, role):
    client = client_of(factories.MembershipFactory(site=shop.site, role=role).user)
    assert client.get(url(job, "arrival")).status_code == 403
    assert client.post(url(job, "arrival"), {"remarks": "x"}).status_code == 403
    assert client.post(reverse("bench_sign", args=[job.pk])).status_code == 403
    assert stored(job).version == job.version


@pytest.mark.parametrize("role", ["planner", "auditor", "administrator"])
def test_only_mechanics_and_engineers_verify(shop, job, signed, role):
    version = signed.version
    client = client_of(factories.MembershipFactory(site=shop.site, role=role).user)
    page = client.post(reverse("inspection_verify", args=[job.pk]), {"version": version})
    assert page.status_code == 403 and stored(job).locked_at is None


def test_another_site_s_job_does_not_exist(job):
    client = client_of(factories.MembershipFactory(role="mechanic").user)
    for name in ("bench_sign", "inspection"):
        assert client.get(reverse(name, args=[job.pk])).status_code == 404
    assert client.get(url(job, "arrival")).status_code == 404
    assert client.post(url(job, "arrival"), {"remarks": "x"}).status_code == 404
    assert client.post(reverse("inspection_verify", args=[job.pk])).status_code == 404


def test_a_right_held_elsewhere_does_not_do_here(shop, job):
    """A mechanic of another site who only reads at this one."""
    user = factories.MembershipFactory(role="mechanic").user
    factories.MembershipFactory(user=user, site=shop.site, role="auditor")
    client = client_of(user)
    assert client.get(reverse("inspection", args=[job.pk])).status_code == 200
    assert client.post(url(job, "arrival"), {"remarks": "x"}).status_code == 403
    assert client.post(reverse("bench_sign", args=[job.pk])).status_code == 403


def test_a_locked_record_has_no_bench(shop, mechanic, job, locked):
    assert mechanic.get(url(job, "arrival")).status_code == 404


# The record


def test_a_correction_is_opened_walked_and_verified(shop, mechanic, second, job, locked):
    old = stored(job)
    page = mechanic.post(reverse("inspection_correct", args=[job.pk]), follow=True)
    new = Inspection.objects.get(corrects=job)
    assert f"{old.ref} counts until it is verified" in text(page)
    send(mechanic, new, "arrival", done_on="2024-05-02")
    sign = reverse("bench_sign", args=[new.pk])
    mechanic.post(sign, fields_of(mechanic.get(sign)))
    second.post(reverse("inspection_verify", args=[new.pk]), {"version": stored(new).version})
    assert ServiceEvent.objects.standing().filter(done_on__year=2024).get().ref == new.ref
    assert "Corrected by" in text(mechanic.get(reverse("inspection", args=[job.pk])))


def test_a_question_is_answered_by_an_engineer_once(shop, mechanic, second, job):
    shop.popped(job, settings={(RING, "as_found"): "5 notches", (RING, "as_left"): "5 notches"})
    shop.save(job, tag_typed="PSV-9")
    shop.sign(job)
    shop.verify(job)
    question = Question.objects.get(code="device_not_at_tag")
    address = reverse("question_answer", args=[question.pk])
    assert mechanic.post(address, {"answer": "x"}).status_code == 403
    page = second.post(address, {"answer": "old tag of PSV-1"}, follow=True)
    assert "old tag of PSV-1" in text(page)
    page = second.post(address, {"answer": "again"}, follow=True)
    assert "answered already" in text(page)


def test_an_ordinary_bench_page_costs_the_same_for_many_jobs(
    shop, mechanic, django_assert_max_num_queries
):
    for _ in range(15):
        shop.open(device=factories.DeviceFactory(site=shop.site))
    with django_assert_max_num_queries(10):  # who, where, the jobs twice and their counts
        mechanic.get(reverse("bench"))
