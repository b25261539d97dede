"""Papers read by readers that are not ours: pypdf takes the text, PDFium draws the sheet and
zxing-cpp decodes what stands on the picture, as a phone does."""

import io

import pypdfium2
import zxingcpp
from pypdf import PdfReader


def sheets_of(paper: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(paper)).pages]


def said(paper: bytes) -> str:
    """All its text on one line."""
    return " ".join(" ".join(sheets_of(paper)).split())


def codes_on(paper: bytes, dots_an_inch: int = 300) -> list[str]:
    """What each code on the drawn sheets says."""
    document = pypdfium2.PdfDocument(paper)
    pictures = [page.render(scale=dots_an_inch / 72).to_pil() for page in document]
    return [code.text for picture in pictures for code in zxingcpp.read_barcodes(picture)]


def size_mm(paper: bytes) -> tuple[float, float]:
    box = PdfReader(io.BytesIO(paper)).pages[0].mediabox
    return round(float(box.width) / 72 * 25.4, 1), round(float(box.height) / 72 * 25.4, 1)
