"""Pictures as they come in, friendly and not. What went in is made here by Pillow and by hand;
GPS tags and orientation are those of the Exif standard (CIPA DC-008: 0x8825, 0x0112)."""

import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image

from inspections.calc import pictures
from inspections.calc.pictures import LARGEST_BYTES, NotAPicture, picture_of

GPS, ORIENTATION, OWNER = 0x8825, 0x0112, 0x013B


def sent(size=(60, 40), form="JPEG", color="red", mode="RGB", **more) -> bytes:
    out = BytesIO()
    Image.new(mode, size, color).save(out, form, **more)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is enormous."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IDAT", zlib.compress(b"\0" * 100_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + body + chunk(b"IEND", b"")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_what_cameras_and_screens_send_is_read(form):
    picture = picture_of(sent(form=form))
    kept = opened(picture.data)
    assert (kept.format, kept.size, kept.mode) == ("JPEG", (60, 40), "RGB")
    assert (picture.kind, picture.width, picture.height) == ("image/jpeg", 60, 40)
    red, green, blue = kept.getpixel((30, 20))
    assert red > 240 and green < 20 and blue < 20


@pytest.mark.parametrize(("mode", "color"), [("P", 0), ("L", 0), ("RGBA", (0, 0, 0, 0)), ("1", 0)])
def test_every_way_to_say_colours_is_read(mode, color):
    assert opened(picture_of(sent(mode=mode, form="PNG", color=color)).data).mode == "RGB"


def test_what_is_clear_becomes_white():
    picture = picture_of(sent(mode="RGBA", form="PNG", color=(0, 0, 0, 0)))
    assert opened(picture.data).getpixel((5, 5)) == (255, 255, 255)


def test_a_large_one_is_made_smaller_and_has_a_small_copy():
    picture = picture_of(sent(size=(4000, 3000)))
    assert (picture.width, picture.height) == (2000, 1500)
    assert opened(picture.data).size == (2000, 1500) and opened(picture.small).size == (400, 300)


def test_nothing_the_camera_wrote_comes_along():
    exif = Image.Exif()
    exif[OWNER] = "A. N. Owner"
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    data = sent(exif=exif.tobytes(), comment=b"secret remark", icc_profile=b"profile")
    assert opened(data).getexif().get_ifd(GPS)  # it was in what was sent
    picture = picture_of(data)
    for kept in (picture.data, picture.small):
        assert not dict(opened(kept).getexif()) and not opened(kept).getexif().get_ifd(GPS)
        assert not {"exif", "comment", "icc_profile", "xmp"} & set(opened(kept).info)
        assert not [word for word in (b"Exif", b"secret", b"Owner", b"profile") if word in kept]


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "MPO"])
def test_it_is_turned_upright(form):
    """Orientation 6: the camera was turned; the first row is the right-hand side."""
    image = Image.new("RGB", (60, 40), "white")
    image.paste("red", (0, 0, 60, 10))  # the top of the file
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    out = BytesIO()
    image.save(out, form, exif=exif.tobytes(), quality=95)
    picture = picture_of(out.getvalue())
    assert (picture.width, picture.height) == (40, 60)
    kept = opened(picture.data)
    assert kept.getpixel((36, 30))[1] < 60 and kept.getpixel((4, 30))[1] > 200


def test_one_photo_has_one_digest():
    assert picture_of(sent()).sha256 == picture_of(sent()).sha256
    assert picture_of(sent()).sha256 != picture_of(sent(color="blue")).sha256


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not empty"),
        (b"this is a text file called photo.jpg", "whatever its name"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "whatever its name"),
        (b"%PDF-1.4\n", "whatever its name"),
        (sent(form="GIF"), "whatever its name"),
        (sent(form="TIFF"), "whatever its name"),
        (sent(form="BMP"), "whatever its name"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "HEIC"),
        (sent(size=(900, 900))[:2000], "breaks off"),
        (sent(size=(900, 900), form="PNG")[:-60], "breaks off"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 50, "JPEG, PNG or WebP|breaks off"),
        (bomb(8_000, 8_000), "50 million"),
        (bomb(11_000, 11_000), "50 million"),
        (bomb(60_000, 60_000), "50 million"),
        (bomb(3000, 3000), "breaks off"),
    ],
)
def test_what_is_no_photo_is_refused_with_words(data, words):
    with pytest.raises(NotAPicture, match=words):
        picture_of(data)


def test_too_many_bytes_are_not_even_looked_at(monkeypatch):
    monkeypatch.setattr(pictures.Image, "open", None)
    with pytest.raises(NotAPicture, match="20 MB"):
        picture_of(b"\0" * (LARGEST_BYTES + 1))


def test_only_the_first_of_a_moving_picture_is_kept():
    frames = [Image.new("RGB", (30, 30), color) for color in ("red", "blue")]
    out = BytesIO()
    frames[0].save(out, "WEBP", save_all=True, append_images=frames[1:])
    assert opened(picture_of(out.getvalue()).data).getpixel((9, 9))[0] > 200
