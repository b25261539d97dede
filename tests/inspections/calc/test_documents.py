"""What may be kept as a paper of a record: by its content, whatever its name says.

A PDF's head and end: ISO 32000-1, 7.5.2 and 7.5.5; the PDF here is written by ReportLab and read
again by pypdf, neither of them ours.
"""

import zipfile
from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from inspections.calc.documents import LARGEST_BYTES, NotADocument, paper_of


def pdf() -> bytes:
    out = BytesIO()
    page = Canvas(out, invariant=1)
    page.drawString(72, 720, "Certificate QW-1188")
    page.save()
    return out.getvalue()


def picture(form: str) -> bytes:
    out = BytesIO()
    Image.new("RGB", (60, 80), "white").save(out, form)
    return out.getvalue()


def zipped() -> bytes:
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("a.txt", "a" * 100)
    return out.getvalue()


def test_it_is_kept_as_it_came_byte_for_byte():
    data = pdf()
    paper = paper_of(data, "QW 1188.pdf")
    assert (paper.data, paper.kind, paper.name) == (data, "application/pdf", "QW 1188.pdf")
    assert "QW-1188" in PdfReader(BytesIO(paper.data)).pages[0].extract_text()


@pytest.mark.parametrize(("form", "kind"), [("JPEG", "image/jpeg"), ("PNG", "image/png")])
def test_a_picture_of_a_paper_is_one(form, kind):
    assert paper_of(picture(form), "scan").kind == kind


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not empty"),
        (b"MZ\x90\x00" + b"\x00" * 400, "whatever its name"),
        (b"<html><script>alert(1)</script></html>", "whatever its name"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "whatever its name"),
        (zipped(), "whatever its name"),
        (picture("GIF"), "whatever its name"),
        (pdf()[:-200], "breaks off"),
        (picture("PNG")[:-30], "breaks off"),
        (b"%PDF-1.7" + b"\x00" * LARGEST_BYTES, "at most 20 MB"),
    ],
)
def test_what_is_no_paper_is_refused_in_words(data, words):
    with pytest.raises(NotADocument, match=words):
        paper_of(data, "certificate.pdf")


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("../../etc/passwd", "passwd.pdf"),
        ("C:\\shop\\QW.PDF", "QW.pdf"),
        ("QW\r\nSet-Cookie: x.pdf", "QWSet-Cookie: x.pdf"),
        ("certificate.exe", "certificate.exe.pdf"),
        ("", "paper.pdf"),
        ("x" * 400, "x" * 196 + ".pdf"),
    ],
)
def test_its_name_is_a_name_and_ends_in_what_it_is(typed, name):
    assert paper_of(pdf(), typed).name == name
