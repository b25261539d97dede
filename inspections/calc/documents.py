"""A paper somebody sent, kept as it came once it is what it has to be: a PDF, or a picture of one.

What it is goes by its content, whatever its name says. A PDF begins with `%PDF-` (ISO 32000-1,
7.5.2; the first 1024 bytes are searched, as readers do) and ends with `%%EOF` (7.5.5).
"""

import hashlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePath

from PIL import Image

from inspections.calc.pictures import BROKEN, LARGEST_PIXELS

LARGEST_BYTES = 20 * 1024 * 1024
LONGEST_NAME = 200
HEAD, TAIL = 1024, 2048
PDF = "application/pdf"
PICTURES = {"JPEG": "image/jpeg", "PNG": "image/png"}
ENDINGS = {PDF: ".pdf", "image/jpeg": ".jpg", "image/png": ".png"}
WHOLE = "a whole file; this one breaks off or is damaged: send it again"


class NotADocument(ValueError):
    """What was sent cannot be kept as a paper of a record; `expected` says what would be."""

    def __init__(self, expected: str) -> None:
        super().__init__(expected)
        self.expected = expected


@dataclass(frozen=True)
class Paper:
    """The bytes as they came, their media type, and the file's name with the ending it should
    have."""

    data: bytes
    kind: str
    name: str

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


def paper_of(data: bytes, name: str) -> Paper:
    """Look at what was sent. Raises NotADocument."""
    if not data:
        raise NotADocument("a file that is not empty")
    if len(data) > LARGEST_BYTES:
        raise NotADocument("a file of at most 20 MB")
    kind = PDF if b"%PDF-" in data[:HEAD] else _picture_kind(data)
    if kind == PDF and b"%%EOF" not in data[-TAIL:]:
        raise NotADocument(WHOLE)
    return Paper(data, kind, _name(name, kind))


def _picture_kind(data: bytes) -> str:
    none = "a PDF, JPEG or PNG file; this is none, whatever its name"
    try:
        image = Image.open(BytesIO(data), formats=tuple(PICTURES))
    except (*BROKEN, Image.DecompressionBombError) as error:
        raise NotADocument(none) from error
    if image.width * image.height > LARGEST_PIXELS:
        raise NotADocument("a picture of at most 50 million pixels")
    try:
        image.load()
    except BROKEN as error:
        raise NotADocument(WHOLE) from error
    return PICTURES[str(image.format)]


def _name(name: str, kind: str) -> str:
    """The name without its folders and what cannot be printed; its ending says what it is."""
    plain = "".join(c for c in PurePath(name.replace("\\", "/")).name if c.isprintable()).strip()
    ending = ENDINGS[kind]
    stem = plain[: -len(ending)] if plain.lower().endswith(ending) else plain
    return f"{stem.strip(' .')[: LONGEST_NAME - len(ending)] or 'paper'}{ending}"
