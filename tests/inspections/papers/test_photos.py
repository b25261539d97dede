"""Photos behind a certificate, read back by pypdf: the bytes that are kept, and their words."""

import hashlib
import io
from datetime import date

import pytest
from PIL import Image
from pypdf import PdfReader

from inspections.actions.photos import keep_photos
from inspections.calc.pictures import picture_of
from inspections.models import Inspection
from inspections.papers import certificate
from inspections.reports.certificate import certificate_of
from tests.inspections.papers.conftest import read
from tests.inspections.papers.reading import said, sheets_of
from tests.inspections.shop import AT

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def picture(color: str):
    out = io.BytesIO()
    Image.new("RGB", (600, 450), color).save(out, "JPEG")
    return picture_of(out.getvalue())


def photographed(shop, job, *colors: str) -> Inspection:
    for color in colors:
        keep_photos(job, [picture(color)], step="inspect", by=shop.mechanic, at=AT)
    shop.finish(job, settings=read("5 notches", "5 notches"))
    return Inspection.objects.get(pk=job.pk)


def paper_of(record: Inspection) -> bytes:
    return certificate.pdf(certificate_of(Inspection.objects.get(pk=record.pk)))


def digests_in(paper: bytes) -> set[str]:
    """Of each picture on the sheets, as it stands in the file."""
    held = set()
    for page in PdfReader(io.BytesIO(paper)).pages:
        for drawn in (page["/Resources"].get("/XObject") or {}).values():
            if drawn.get_object()["/Subtype"] == "/Image":
                held.add(hashlib.sha256(drawn.get_object().get_data()).hexdigest())
    return held


def test_the_photos_stand_behind_it_byte_for_byte(shop, job, settings):
    record = photographed(shop, job, "teal", "maroon", "olive")
    paper = paper_of(record)
    assert digests_in(paper) == set(record.photos.values_list("sha256", flat=True))
    settings.FIXED_TODAY = date(2031, 2, 3)
    assert paper_of(record) == paper


def test_each_says_its_step_who_took_it_and_its_digest(shop, job):
    record = photographed(shop, job, "teal", "maroon")
    sheet = " ".join(sheets_of(paper_of(record))[-1].split())
    for number, photo in enumerate(record.photos.order_by("pk"), 1):
        assert f"Photo {number}, inspect" in sheet
        assert " ".join(photo.sha256[at : at + 4] for at in (0, 4, 8, 12)) in sheet
    assert f"{shop.mechanic}, " in sheet and "Who answers for it" not in sheet


def test_one_that_is_gone_is_said_and_nothing_else_is_lost(shop, job, tmp_path):
    record = photographed(shop, job, "teal", "maroon")
    gone, stays = record.photos.order_by("pk")
    (tmp_path / gone.stored_at).unlink()
    paper = paper_of(record)
    assert "Not shown: its file is missing" in said(paper)
    assert digests_in(paper) == {stays.sha256}


def test_seven_go_on_upon_a_second_sheet(shop, job):
    colors = ("teal", "maroon", "olive", "navy", "gray", "pink", "gold")
    before = len(sheets_of(paper_of(photographed(shop, job, *colors[:1]))))
    assert before == 2
    other = photographed(shop, shop.open("overhaul"), *colors)
    text = sheets_of(paper_of(other))
    assert "Photo 6, inspect" in text[-2] and "Photo 7, inspect" in text[-1]
