"""Photos of a job: under their digest, once a record, under the proof, and gone only while open."""

from io import BytesIO
from pathlib import Path

import pytest
from django.db import DatabaseError, transaction
from PIL import Image

from fleet.faults import Refused
from fleet.models import AuditEntry
from fleet.reports.proof import differences
from inspections.actions.photos import forget, keep_photos, remove_photo
from inspections.actions.start import correct
from inspections.calc.pictures import picture_of
from inspections.models import Inspection, Photo
from tests import factories
from tests.inspections.shop import AT, Shop

pytestmark = pytest.mark.django_db


def picture(color="red"):
    out = BytesIO()
    Image.new("RGB", (60, 40), color).save(out, "PNG")
    return picture_of(out.getvalue())


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def shop():
    return Shop()


@pytest.fixture
def job(shop):
    return shop.open()


def keep(shop, job, *colors):
    pictures = [picture(color) for color in colors]
    return keep_photos(job, pictures, step="arrival", by=shop.mechanic, at=AT)


def files(media: Path):
    return sorted(path.name for path in media.rglob("*") if path.is_file())


def said():
    return [str(difference) for difference in differences() if difference.kind == "file"]


def test_a_photo_is_kept_under_its_own_digest(shop, job, media):
    [photo] = keep(shop, job, "red")
    assert photo.sha256 == picture("red").sha256
    assert (media / photo.stored_at).read_bytes() == picture("red").data
    assert (media / photo.small_at).read_bytes() == picture("red").small
    assert (photo.kind, photo.width, photo.height, photo.step) == ("image/jpeg", 60, 40, "arrival")
    assert (photo.taken_by, photo.received_at) == (shop.mechanic, AT)
    assert not [name for name in files(media) if name.endswith(".part")]


def test_the_same_photo_is_kept_once(shop, job, media):
    assert len(keep(shop, job, "red", "red")) == 1
    assert keep(shop, job, "red") == []
    assert job.photos.count() == 1 and len(files(media)) == 2


def test_two_records_share_a_file_and_the_last_one_takes_it_along(shop, job, media):
    [first] = keep(shop, job, "red")
    other = shop.open(device=factories.DeviceFactory(site=shop.site))
    [second] = keep(shop, other, "red")
    remove_photo(first, by=shop.mechanic, at=AT)
    forget(first)
    assert len(files(media)) == 2
    remove_photo(second, by=shop.mechanic, at=AT)
    forget(second)
    assert files(media) == []


def test_a_file_goes_once_its_removal_is_certain(
    shop, job, media, django_capture_on_commit_callbacks
):
    [photo] = keep(shop, job, "red")
    with django_capture_on_commit_callbacks() as callbacks:
        remove_photo(photo, by=shop.mechanic, at=AT)
    assert len(files(media)) == 2  # until the transaction is through
    callbacks[0]()
    assert files(media) == [] and not Photo.objects.exists()


def test_a_locked_record_takes_none_and_loses_none(shop, job):
    [photo] = keep(shop, job, "red")
    shop.finish(job)
    with pytest.raises(Refused, match="photos stay as they are"):
        keep(shop, job, "blue")
    with pytest.raises(Refused, match="photos stay as they are"):
        remove_photo(photo, by=shop.mechanic, at=AT)
    with pytest.raises(DatabaseError, match="locked"), transaction.atomic():
        photo.delete()


def test_whoever_signed_signs_again_once_a_photo_comes_or_goes(shop, job):
    shop.popped(job)
    shop.sign(job)
    keep(shop, job, "red")
    after = Inspection.objects.get(pk=job.pk)
    assert after.signed_at is None and after.done_by is None and after.version > job.version


def test_a_correction_shows_the_same_photos(shop, job, media):
    keep(shop, job, "red")
    shop.finish(job)
    new = correct(Inspection.objects.get(pk=job.pk), by=shop.mechanic, at=AT)
    assert new.photos.get().sha256 == job.photos.get().sha256 and len(files(media)) == 2


def test_the_proof_knows_every_photo_and_looks_at_its_file(shop, job, media):
    [photo] = keep(shop, job, "red")
    assert photo.sha256 in AuditEntry.objects.get(action="photos kept").after
    assert said() == []
    (media / photo.stored_at).write_bytes(picture("blue").data)
    assert said() == [
        f"file: inspections_photo {photo.pk}: {photo.stored_at} is not what its digest says"
    ]
    (media / photo.stored_at).unlink()
    assert "is gone" in said()[0]


def test_the_proof_holds_after_a_photo_was_taken_away(shop, job):
    [photo] = keep(shop, job, "red")
    remove_photo(photo, by=shop.mechanic, at=AT)
    named = [str(each) for each in differences() if "photo" in each.where]
    assert named == []
