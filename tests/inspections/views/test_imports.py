"""Loading a workbook through the site: sent, read, seen by sheet and cell, confirmed, loaded."""

import zipfile
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from fleet import jobs
from fleet.models import Job, Position, Upload
from tests.factories import RECORDED_AT, MembershipFactory, SiteFactory
from tests.inspections.exchange.books import Book

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_once(settings, tmp_path, monkeypatch):
    """The child process would open the real database; here the same command runs in this one."""
    settings.MEDIA_ROOT = tmp_path / "media"
    monkeypatch.setattr(jobs, "start", lambda job: call_command("run_job", str(job.pk)))
    monkeypatch.setattr("inspections.management.commands.run_job._limit_memory", lambda: None)


@pytest.fixture
def site():
    return SiteFactory(name="Northmere")


@pytest.fixture
def planner(client, site):
    user = MembershipFactory(site=site, role="planner").user
    client.force_login(user)
    return user


def zipped(book, tmp_path, name="book.zip"):
    folder, buffer = book.write(tmp_path / "book"), BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for path in folder.iterdir():
            archive.write(path, path.name)
    return SimpleUploadedFile(name, buffer.getvalue())


def send(client, site, file, **options):
    data = {"site": site.pk, "workbook": file, **options}
    return client.post(reverse("import_upload"), data, follow=True)


def test_a_workbook_is_read_confirmed_and_loaded(client, planner, site, tmp_path):
    page = send(client, site, zipped(Book(), tmp_path))
    assert "No faults." in page.content.decode()
    assert not Position.objects.exists()
    tried = Job.objects.get()
    page = client.post(reverse("import_confirm", args=[tried.pk]), follow=True)
    assert "Loaded." in page.content.decode()
    assert Position.objects.get(tag="PSV-1").duties.get().recorded_by == planner
    assert tried.upload.uploaded_by == planner and len(tried.upload.sha256) == 64


def test_faults_are_shown_by_cell_and_cannot_be_confirmed(client, planner, site, tmp_path):
    book = Book()
    book["positions"][0]["set_pressure"] = "150 psoi"
    page = send(client, site, zipped(book, tmp_path)).content.decode()
    assert "Faults: 1" in page and "positions, row 2, set_pressure" in page
    assert "150 psoi" in page and "Load it" not in page
    client.post(reverse("import_confirm", args=[Job.objects.get().pk]))
    assert Job.objects.count() == 1 and not Position.objects.exists()


def test_findings_are_shown_before_they_are_loaded(client, planner, site, tmp_path):
    book = Book()
    book["positions"][0]["set_pressure"] = "150 psi"
    page = send(client, site, zipped(book, tmp_path)).content.decode()
    assert "gauge is assumed" in page and "Load it" in page


def test_confirming_twice_loads_once(client, planner, site, tmp_path):
    send(client, site, zipped(Book(), tmp_path))
    tried = Job.objects.get()
    for _ in range(2):
        client.post(reverse("import_confirm", args=[tried.pk]))
    assert Job.objects.count() == 2


def test_a_file_that_is_too_large_is_refused(client, planner, site, settings):
    settings.UPLOAD_LIMIT_BYTES = 1024**2
    page = send(client, site, SimpleUploadedFile("a.xlsx", b"0" * (2 * 1024**2)))
    assert page.status_code == 422
    assert "has 2 MB; at most 1 MB are read" in page.content.decode()
    assert not Upload.objects.exists()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.pdf", b"%PDF", "is of another type"),
        ("a.xlsx", b"%PDF-1.7", "is of another type"),
        ("a.xlsx", b"PK\x03\x04broken", "not a whole zip"),
        ("a.zip", b"PK\x05\x06" + b"\0" * 18, "another type"),
        ("other.csv", b"a,b\n1,2\n", "no sheet of the workbook"),
    ],
)
def test_the_wrong_file_is_refused_in_words(client, planner, site, name, content, words):
    page = send(client, site, SimpleUploadedFile(name, content)).content.decode()
    assert words in page and "Load it" not in page


def test_an_empty_file_is_refused(client, planner, site):
    page = send(client, site, SimpleUploadedFile("a.xlsx", b"")).content.decode()
    assert "empty" in page


def test_rows_of_another_site_are_refused(client, planner, site, tmp_path):
    book = Book()
    book["positions"][0]["site"] = "Southmere"
    page = send(client, site, zipped(book, tmp_path)).content.decode()
    assert "nothing of another site may be loaded here" in page


def test_a_running_load_shows_its_progress_and_can_be_stopped(client, planner, site, tmp_path,
                                                              monkeypatch):  # fmt: skip
    monkeypatch.setattr(jobs, "start", lambda job: None)
    send(client, site, zipped(Book(), tmp_path))
    claim = jobs.claim(Job.objects.get().pk, at=RECORDED_AT)
    claim.beat("inspections", 5, 10)
    address = reverse("import_report", args=[claim.job.pk])
    page = client.get(address).content.decode()
    assert "Inspections: 5 of 10" in page and 'value="5" max="10"' in page
    part = client.get(address, headers={"HX-Request": "true"}).content.decode()
    assert part.startswith('<div id="state"') and "<html" not in part
    client.post(reverse("import_cancel", args=[claim.job.pk]))
    with pytest.raises(jobs.Stopped):
        claim.beat("inspections", 10, 10)


def test_a_failed_load_says_so(client, planner, site, tmp_path, monkeypatch):
    monkeypatch.setattr(jobs, "start", lambda job: None)
    send(client, site, zipped(Book(), tmp_path))
    claim = jobs.claim(Job.objects.get().pk, at=RECORDED_AT)
    claim.end(Job.State.FAILED, {"error": "MemoryError"}, at=RECORDED_AT)
    page = client.get(reverse("import_report", args=[claim.job.pk])).content.decode()
    assert "stopped without finishing" in page


def test_people_of_other_sites_find_nothing_and_readers_may_not(client, planner, site, tmp_path):
    send(client, site, zipped(Book(), tmp_path))
    address = reverse("import_report", args=[Job.objects.get().pk])
    client.force_login(MembershipFactory(role="planner").user)
    assert client.get(address).status_code == 404
    client.force_login(MembershipFactory(site=site, role="auditor").user)
    assert client.get(address).status_code == 403
    assert client.get(reverse("import_upload")).status_code == 403


def test_a_site_that_is_not_mine_is_no_choice(client, planner, tmp_path):
    other = SiteFactory()
    page = send(client, other, zipped(Book(), tmp_path))
    assert page.status_code == 422 and not Job.objects.exists()
