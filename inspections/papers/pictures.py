"""The photos of a record behind its certificate: each as it is kept, byte for byte, so that the
digest beside it can be worked out from the paper alone."""

import hashlib
import io
from collections.abc import Sequence
from pathlib import Path

from django.core.files.storage import default_storage
from reportlab.lib.utils import ImageReader

from fleet.clock import day_of
from fleet.drawings.axis import day_words
from fleet.papers.sheets import BOTTOM, GAP, MARGIN, WIDE, Sheets
from inspections.models import Photo

COLUMNS = 2
HIGH, CAPTION = 190.0, 52.0
DIGITS = 16  # of the digest, as of the audit chain


def set_photos(sheets: Sheets, photos: Sequence[Photo]) -> None:
    """On sheets of their own, in the order in which they came; nothing where there are none."""
    if not photos:
        return
    ordered = sorted(photos, key=lambda photo: (photo.received_at, photo.pk))
    sheets.turn()
    sheets.section("Photos")
    for start in range(0, len(ordered), COLUMNS):
        row = list(enumerate(ordered[start : start + COLUMNS], start + 1))
        if sheets.y - BOTTOM < HIGH + CAPTION:
            sheets.turn()
        _draw(sheets, [photo for _, photo in row])
        sheets.facts([_caption(number, photo) for number, photo in row], columns=COLUMNS)
        sheets.y -= GAP


def _draw(sheets: Sheets, photos: Sequence[Photo]) -> None:
    sheets.y -= GAP + HIGH
    wide = WIDE / COLUMNS
    for place, photo in enumerate(photos):
        data = kept(photo)
        if data is not None:
            sheets.canvas.drawImage(
                ImageReader(io.BytesIO(data)),
                MARGIN + place * wide,
                sheets.y,
                width=wide - GAP,
                height=HIGH,
                preserveAspectRatio=True,
                anchor="sw",
            )


def kept(photo: Photo) -> bytes | None:
    """Its file; None where it is gone, or no longer what was kept."""
    path = Path(default_storage.path(photo.stored_at))
    data = path.read_bytes() if path.is_file() else b""
    return data if hashlib.sha256(data).hexdigest() == photo.sha256 else None


def _caption(number: int, photo: Photo) -> tuple[str, str]:
    step = f", {photo.step.replace('_', ' ')}" if photo.step else ""
    digest = " ".join(photo.sha256[at : at + 4] for at in range(0, DIGITS, 4))
    taken = f"{photo.taken_by}, {day_words(day_of(photo.received_at))}; SHA-256 begins {digest}"
    words = f"{photo.caption}. {taken}" if photo.caption else taken
    if kept(photo) is None:
        words = f"Not shown: its file is missing or is not what was kept. {words}"
    return f"Photo {number}{step}", words
