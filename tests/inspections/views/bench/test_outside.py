"""Work sent to an outside shop: its despatch, its receipt, and who answers for it here."""

import pytest
from django.urls import reverse

from fleet.faults import Refused
from fleet.models import Site
from inspections.actions.documents import keep_documents
from inspections.calc.documents import paper_of
from inspections.models import FieldEdit, Inspection
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.calc.test_documents import pdf
from tests.inspections.exchange.books import Book
from tests.inspections.shop import AT
from tests.inspections.views.bench.pages import RING, client_of, fields_of, send, stored, url

pytestmark = pytest.mark.django_db

SENT = {"device": "D-1", "activity": "bench_test", "shop": "Quill Works", "sent_on": "2024-05-06"}


@pytest.fixture
def away(shop, mechanic) -> Inspection:
    """A valve sent to a shop that has not come back."""
    mechanic.post(reverse("bench_start"), SENT)
    return Inspection.objects.open().get()


def returned(mechanic, job) -> None:
    send(mechanic, job, "arrival", done_on="2024-05-14", received_on="2024-05-20")
    send(mechanic, job, "as_received", first_pop="151 psig")
    send(mechanic, job, "as_left", as_left_pop="150 psig", disposition="repaired")


def test_while_it_is_away_the_bench_says_where_it_is_and_since_when(mechanic, away):
    assert (away.done_on, away.is_away) == (None, True)
    assert str(away.position) == "PSV-1"
    page = text(mechanic.get(reverse("bench")))
    assert "at Quill Works" in page and "since 6 May 2024" in page
    for step in ("arrival", "as_received", "as_left", "seal"):
        assert mechanic.get(url(away, step)).status_code == 200


def test_its_return_is_on_record_before_it_is_signed_for(mechanic, away):
    send(mechanic, away, "arrival", done_on="2024-05-14")
    send(mechanic, away, "as_received", first_pop="151 psig")
    send(mechanic, away, "as_left", as_left_pop="150 psig", disposition="repaired")
    page = send(mechanic, away, "seal", certificate="QW-1188", done_by_name="R. Vane")
    assert "the day it came back from Quill Works" in text(page)
    send(mechanic, away, "arrival", received_on="2024-05-20")
    page = mechanic.get(reverse("bench_sign", args=[away.pk]))
    mechanic.post(reverse("bench_sign", args=[away.pk]), fields_of(page))
    assert stored(away).signed_at is not None


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"received_on": "2024-05-05"}, "not before 2024-05-06, when it was sent"),
        ({"received_on": "2031-05-05"}, "not in the future"),
        ({"done_on": "2024-05-01", "received_on": "2024-05-20"}, "not before 2024-05-06"),
        ({"done_on": "2024-05-21", "received_on": "2024-05-20"}, "not after 2024-05-20"),
        ({"sent_on": "2031-05-05"}, "not in the future"),
        ({"shop": "", "done_on": "2024-05-14"}, "the shop it was sent to"),
    ],
)
def test_days_that_contradict_each_other_are_refused_at_the_field(mechanic, away, typed, words):
    page = send(mechanic, away, "arrival", **typed)
    assert page.status_code == 422 and words in text(page)
    for value in typed.values():
        assert value in text(page)
    assert stored(away).received_on is None


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"shop": ""}, "the shop it was sent to"),
        ({"sent_on": "", "done_on": ""}, "the day of the work, or the day it was sent"),
        ({"sent_on": "2031-01-01"}, "not in the future"),
    ],
)
def test_a_despatch_that_says_too_little_opens_no_job(shop, mechanic, typed, words):
    page = mechanic.post(reverse("bench_start"), SENT | typed)
    assert page.status_code == 422 and words in text(page)
    assert not Inspection.objects.open().exists()


def test_who_saved_a_step_without_a_script_does_not_verify_it(shop, mechanic, away):
    person = factories.MembershipFactory(site=shop.site, role="mechanic").user
    returned(mechanic, away)
    send(client_of(person), away, "seal", certificate="QW-1188", done_by_name="R. Vane")
    assert FieldEdit.objects.filter(typed_by=person, typed_at=None).exists()
    shop.sign(stored(away))
    with pytest.raises(Refused, match="not the one who entered it"):
        shop.verify(stored(away), by=person)


def test_the_record_says_who_signed_for_it_here(shop, mechanic, away):
    returned(mechanic, away)
    send(mechanic, away, "seal", certificate="QW-1188", done_by_name="R. Vane")
    shop.sign(stored(away), by=shop.second)
    record = stored(away)
    assert (record.done_by.name, record.signed_by) == ("R. Vane", shop.second)
    page = text(mechanic.get(reverse("inspection", args=[away.pk])))
    assert "Signed for here by" in page and shop.second.name in page
    send(mechanic, away, "seal", seal_left="Q-8")
    assert stored(away).signed_by is None


def test_our_own_work_is_signed_by_who_did_it(shop, job):
    shop.popped(job, settings={(RING, "as_found"): "5 notches", (RING, "as_left"): "5 notches"})
    shop.sign(job)
    assert stored(job).signed_by == stored(job).done_by == shop.mechanic


def test_a_job_that_names_a_shop_by_mistake_is_made_our_own(shop, mechanic, away):
    """So of a loaded record that names the plant's own shop: emptied, whoever did it signs."""
    Inspection.objects.filter(pk=away.pk).update(
        done_by=factories.UserFactory(name="Our own mechanic", is_active=False)
    )
    typed = {"shop": "", "sent_on": "", "received_on": "", "done_on": "2024-05-14"}
    assert send(mechanic, away, "arrival", **typed).status_code == 200
    send(mechanic, away, "as_received", first_pop="151 psig")
    send(mechanic, away, "as_left", as_left_pop="150 psig", disposition="repaired")
    page = send(mechanic, away, "seal", seal_left="Q-7")
    assert "Sign as" in text(page)
    mechanic.post(reverse("bench_sign", args=[away.pk]), fields_of(page))
    assert stored(away).done_by == shop.mechanic


def test_a_job_sent_out_after_all_names_its_shop_at_arrival(shop, mechanic, job):
    typed = {"shop": "Quill Works", "sent_on": "2024-05-06", "done_on": ""}
    assert send(mechanic, job, "arrival", **typed).status_code == 422
    typed["done_on"] = "2024-05-14"
    assert send(mechanic, job, "arrival", **typed).status_code == 200
    assert "Who did the work" in text(mechanic.get(url(job, "seal")))


def loaded(tmp_path, **columns) -> tuple[Inspection, object]:
    """An open record of a workbook that names the plant's own shop, and a mechanic there."""
    book = Book()
    book["inspections"][0] |= {"activity": "bench_test", "verified_by": "", "shop": "Own shop"}
    book["inspections"][0] |= columns
    book["settings"].clear()
    book.load(tmp_path, leave_unverified=True)
    person = factories.MembershipFactory(site=Site.objects.get(name="Northmere"), role="mechanic")
    return Inspection.objects.get(ref="I-1"), client_of(person.user)


def test_a_loaded_record_that_names_the_plants_own_shop_is_made_our_own(tmp_path):
    job, client = loaded(tmp_path)
    page = text(client.get(reverse("bench_sign", args=[job.pk])))
    assert "the number of the shop" in page and "Sign as" not in page
    assert "Done here after all? Empty it." in text(client.get(url(job, "arrival")))
    send(client, job, "arrival", shop="")
    page = client.get(reverse("bench_sign", args=[job.pk]))
    assert "Sign as" in text(page)
    client.post(reverse("bench_sign", args=[job.pk]), fields_of(page))
    assert stored(job).done_by == stored(job).signed_by


def test_a_loaded_record_of_a_true_outside_shop_is_signed_for_with_its_certificate(tmp_path):
    job, client = loaded(tmp_path, shop="Quill Works", certificate="QW-1188")
    page = send(client, job, "seal", seal_left="Q-7")
    client.post(reverse("bench_sign", args=[job.pk]), fields_of(page))
    assert stored(job).done_by.name == "Ann Lowe" and stored(job).signed_by.name != "Ann Lowe"


def test_who_put_the_certificate_there_does_not_verify_it(shop, mechanic, away, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    person = factories.MembershipFactory(site=shop.site, role="mechanic").user
    returned(mechanic, away)
    send(mechanic, away, "seal", certificate="QW-1188", done_by_name="R. Vane")
    keep_documents(stored(away), [paper_of(pdf(), "QW-1188.pdf")], by=person, at=AT)
    shop.sign(stored(away))
    with pytest.raises(Refused, match="not the one who entered it"):
        shop.verify(stored(away), by=person)
