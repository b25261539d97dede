"""A picture somebody sent, made into one that may be kept: decoded, turned upright, made smaller,
and without anything the camera wrote into it (place, time, owner, comments)."""

import hashlib
import struct
import warnings
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

LARGEST_BYTES = 20 * 1024 * 1024
LARGEST_PIXELS = 50_000_000  # decoded; what a telephone takes stays under it
LONGEST_SIDE, SMALL_SIDE = 2000, 400
READ = ("JPEG", "PNG", "WEBP")
HEIC = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, struct.error, OverflowError)


class NotAPicture(ValueError):
    """What was sent cannot be kept as a photo; `expected` says what would be."""

    def __init__(self, expected: str) -> None:
        super().__init__(expected)
        self.expected = expected


@dataclass(frozen=True)
class Picture:
    """A JPEG of at most 2000 px, its small copy, and the digest it is kept under."""

    data: bytes
    small: bytes
    width: int
    height: int
    kind: str = "image/jpeg"

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


def picture_of(data: bytes) -> Picture:
    """Read what was sent by decoding it, whatever its name says. Raises NotAPicture."""
    if not data:
        raise NotAPicture("a file that is not empty")
    if len(data) > LARGEST_BYTES:
        raise NotAPicture("a photo of at most 20 MB")
    if data[4:8] == b"ftyp" and data[8:12] in HEIC:
        raise NotAPicture(
            "JPEG, PNG or WebP; this is HEIC: set the camera to “most compatible”, or share it as "
            "JPEG"
        )
    whole = _decoded(data)
    return Picture(_jpeg(whole), _jpeg(_within(whole, SMALL_SIDE)), whole.width, whole.height)


def _decoded(data: bytes) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # refused just below
            image: Image.Image = Image.open(BytesIO(data), formats=READ)
        if image.width * image.height > LARGEST_PIXELS:
            raise NotAPicture("a photo of at most 50 million pixels")
        if image.format != "JPEG":
            image = image.convert("RGBA")  # a palette cannot be made smaller
        image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is decoded at a fraction of it
        return _plain(ImageOps.exif_transpose(image))
    except NotAPicture:
        raise
    except Image.DecompressionBombError as bomb:
        raise NotAPicture("a photo of at most 50 million pixels") from bomb
    except UnidentifiedImageError as error:
        words = "a JPEG, PNG or WebP photo; this file is none, whatever its name"
        raise NotAPicture(words) from error
    except BROKEN as error:
        words = "a whole photo; this one breaks off or is damaged: send it again"
        raise NotAPicture(words) from error


def _within(image: Image.Image, side: int) -> Image.Image:
    copy = image.copy()
    copy.thumbnail((side, side))
    return copy


def _plain(image: Image.Image) -> Image.Image:
    """Its colours alone, on white: nothing else of the file comes along."""
    clean = Image.new("RGB", image.size, "white")
    layered = image.convert("RGBA")
    clean.paste(layered, mask=layered.getchannel("A"))
    return clean


def _jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=85, optimize=True)
    return out.getvalue()
