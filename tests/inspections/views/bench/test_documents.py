"""Papers of a record: taken up at the bench, handed out to whoever sees the record, taken away
only while it is open. What is hostile about a file is tried in calc/test_documents.py."""

import hashlib
from contextlib import suppress

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from inspections.actions.start import correct
from inspections.models import Document
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.calc.test_documents import pdf, picture
from tests.inspections.shop import AT
from tests.inspections.views.bench.pages import client_of, stored, url

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def upload(client, job, *files, **more):
    sent = [SimpleUploadedFile(name, data) for name, data in files]
    return client.post(reverse("bench_documents", args=[job.pk]), {"documents": sent}, **more)


def altered(capsys) -> list[str]:
    """What the proof says of files; the factories' rows are on no chain."""
    with suppress(SystemExit):
        call_command("verify_audit")
    return [line for line in capsys.readouterr().out.splitlines() if line.startswith("file")]


@pytest.fixture
def document(mechanic, job):
    upload(mechanic, job, ("QW-1188.pdf", pdf()))
    return Document.objects.get()


def test_a_certificate_is_kept_and_handed_out_as_it_came(mechanic, job, document, media):
    assert document.sha256 == hashlib.sha256(pdf()).hexdigest()
    answer = mechanic.get(reverse("document", args=[document.pk]))
    assert b"".join(answer.streaming_content) == pdf()
    assert answer["Content-Disposition"] == 'attachment; filename="QW-1188.pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    for page in (url(job, "seal"), reverse("inspection", args=[job.pk])):
        assert "QW-1188.pdf" in text(mechanic.get(page))


def test_the_same_paper_twice_is_kept_once(mechanic, job, document):
    upload(mechanic, job, ("again.pdf", pdf()), ("scan.png", picture("PNG")))
    assert [d.name for d in job.documents.all()] == ["QW-1188.pdf", "scan.png"]


def test_what_cannot_be_kept_is_named_and_the_others_are_kept(mechanic, job):
    page = upload(mechanic, job, ("a.pdf", b"MZ"), ("b.pdf", pdf()))
    assert page.status_code == 422
    assert "a.pdf" in text(page) and "whatever its name" in text(page)
    assert [d.name for d in job.documents.all()] == ["b.pdf"]


def test_no_file_at_all_says_so(mechanic, job):
    assert "at least one file" in text(upload(mechanic, job))


def test_a_paper_is_taken_away_with_its_file_while_the_job_is_open(mechanic, job, document, media):
    mechanic.post(reverse("document_remove", args=[document.pk]))
    assert not job.documents.exists()


def test_a_new_paper_asks_for_a_new_signature(mechanic, signed):
    upload(mechanic, signed, ("QW-1188.pdf", pdf()))
    assert stored(signed).signed_at is None


def test_a_locked_record_keeps_its_papers_as_they_are(shop, mechanic, job, document, capsys):
    shop.popped(stored(job), settings={("lower_ring", s): "5 notches" for s in STAGES})
    shop.sign(stored(job))
    shop.verify(stored(job))
    assert upload(mechanic, job, ("more.pdf", pdf() + b"\n%%EOF")).status_code == 404
    page = mechanic.post(reverse("document_remove", args=[document.pk]))
    assert page.status_code == 422 and "is locked" in text(page)
    assert Document.objects.filter(pk=document.pk).exists()
    assert not altered(capsys)


def test_a_correction_says_again_what_papers_there_were(shop, mechanic, job, document):
    shop.popped(stored(job), settings={("lower_ring", s): "5 notches" for s in STAGES})
    shop.sign(stored(job))
    shop.verify(stored(job))
    again = correct(stored(job), by=shop.mechanic, at=AT)
    assert [d.sha256 for d in again.documents.all()] == [document.sha256]
    mechanic.post(reverse("document_remove", args=[again.documents.get().pk]))
    answer = mechanic.get(reverse("document", args=[document.pk]))
    assert b"".join(answer.streaming_content) == pdf()


def test_a_file_that_was_changed_is_found_by_the_proof(document, media, capsys):
    (media / document.stored_at).write_bytes(pdf() + b" ")
    assert document.stored_at in altered(capsys)[0]


def test_nobody_of_another_site_sees_it(document):
    stranger = factories.MembershipFactory(role="auditor").user
    assert client_of(stranger).get(reverse("document", args=[document.pk])).status_code == 404


STAGES = ("as_found", "as_left")
