"""Photos on the bench: taken up, shown to whoever sees the record and to nobody else, taken away.
What is hostile about a file is tried in tests/inspections/calc/test_pictures.py."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from inspections.calc.pictures import LARGEST_BYTES
from inspections.models import Photo
from inspections.views.photos import MOST
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import client_of, url

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}
OUTBOX = {"Accept": "application/json"}


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def image(color="red", form="JPEG"):
    out = BytesIO()
    Image.new("RGB", (60, 40), color).save(out, form)
    return out.getvalue()


def file(data, name="photo.jpg", kind="image/jpeg"):
    return SimpleUploadedFile(name, data, content_type=kind)


def upload(client, job, *files, step="arrival", **more):
    return client.post(reverse("bench_photos", args=[job.pk, step]), {"photos": files}, **more)


@pytest.fixture
def photo(mechanic, job):
    upload(mechanic, job, file(image()))
    return Photo.objects.get()


def test_several_photos_are_kept_and_shown_on_step_and_record(mechanic, job):
    page = upload(mechanic, job, file(image()), file(image("blue", "PNG")), follow=True)
    assert page.redirect_chain[-1][0] == url(job, "arrival")
    assert job.photos.count() == 2
    for address in (url(job, "arrival"), reverse("inspection", args=[job.pk])):
        shown = mechanic.get(address).content.decode()
        assert shown.count("<img") == 2


@pytest.mark.parametrize("step", ["arrival", "inspect"])
def test_a_script_gets_the_photos_back_and_nothing_else(mechanic, job, step):
    page = upload(mechanic, job, file(image()), step=step, headers=HTMX)
    assert page.status_code == 200 and page.content.strip().startswith(b"<section")
    assert job.photos.get().step == step


def test_the_step_asks_a_camera_and_takes_several(mechanic, job):
    page = mechanic.get(url(job, "inspect")).content.decode()
    assert 'capture="environment"' in page and "multiple" in page
    assert "enctype" in page and page.count('accept="image/jpeg,image/png,image/webp"') == 2


def test_what_was_typed_beside_is_not_touched(mechanic, job):
    version = job.version
    upload(mechanic, job, file(image()))
    job.refresh_from_db()
    assert job.version == version


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (b"not a photo at all", "seat.jpg", "whatever its name"),
        (b"", "empty.jpg", "not empty"),
        (b"\0\0\0\x18ftypheic", "IMG_1.HEIC", "HEIC"),
        (b"<svg onload='alert(1)'/>", "x.png", "whatever its name"),
    ],
)
def test_what_is_no_photo_is_named_and_refused(mechanic, job, data, name, words):
    page = upload(mechanic, job, file(data, name))
    assert page.status_code == 422 and words in text(page) and name in text(page)
    assert not Photo.objects.exists()


def test_the_good_ones_are_kept_beside_a_bad_one(mechanic, job):
    page = upload(mechanic, job, file(image()), file(b"no", "bad.jpg"), headers=HTMX)
    assert "bad.jpg" in text(page) and job.photos.count() == 1


def test_a_name_of_somebody_s_making_is_only_shown(mechanic, job, media):
    page = upload(mechanic, job, file(image(), "../../<b>x</b>.jpg"), file(b"no", "<b>y.jpg"))
    assert "<b>y" not in page.content.decode() and "&lt;b&gt;y" in page.content.decode()
    names = {path.name for path in media.rglob("*") if path.is_file()}
    assert names == {f"{job.photos.get().sha256}{end}" for end in (".jpg", ".small.jpg")}


def test_the_same_photo_twice_is_kept_once_and_said(mechanic, job):
    upload(mechanic, job, file(image()))
    page = upload(mechanic, job, file(image()), headers=HTMX)
    assert "here already" in text(page) and job.photos.count() == 1


def test_too_many_at_once_are_refused_by_number(mechanic, job):
    many = [file(image((n, 0, 0))) for n in range(MOST + 1)]
    page = upload(mechanic, job, *many)
    assert f"at most {MOST} photos at once" in text(page) and job.photos.count() <= MOST


def test_one_that_is_too_large_is_refused(mechanic, job, monkeypatch):
    monkeypatch.setattr("inspections.views.photos.LARGEST_BYTES", 10)
    page = upload(mechanic, job, file(image()))
    assert page.status_code == 422 and "20 MB" in text(page)


# Sent by the outbox of a tablet


def test_one_sent_again_by_the_outbox_is_kept_once(mechanic, job):
    said = [upload(mechanic, job, file(image()), headers=OUTBOX).json() for _ in range(2)]
    assert [one["twice"] for one in said] == [0, 1]
    assert said[1]["faults"] == [] and said[1]["part"].count("<img") == 1
    assert job.photos.count() == 1


def test_the_outbox_hears_in_words_what_is_not_kept(mechanic, job):
    said = upload(mechanic, job, file(b"no", "seat.jpg"), headers=OUTBOX).json()
    assert said["faults"][0]["typed"] == "seat.jpg"
    assert "whatever its name" in said["faults"][0]["expected"]


def test_one_that_waited_is_kept_only_for_whoever_took_it(shop, mechanic, job):
    for owner, status, kept in ((shop.second, 409, 0), (shop.mechanic, 200, 1)):
        sent = {"photos": file(image()), "typed_by": owner.pk}
        answer = mechanic.post(reverse("bench_photos", args=[job.pk, "arrival"]), sent)
        assert answer.status_code in (status, 302) and job.photos.count() == kept
    assert answer.status_code == 302  # without scripts: back to the step


def test_the_tablet_knows_how_large_a_photo_may_be(mechanic, job):
    assert f'data-largest="{LARGEST_BYTES}"' in mechanic.get(url(job, "arrival")).content.decode()


# Who is shown it


def test_it_is_served_as_a_picture_and_never_guessed_at(mechanic, photo):
    for name in ("photo", "photo_small"):
        answer = mechanic.get(reverse(name, args=[photo.pk]))
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Content-Disposition"] == f'inline; filename="photo-{photo.pk}.jpg"'
        assert answer["Cache-Control"] == "private, no-cache"
        assert Image.open(BytesIO(b"".join(answer.streaming_content))).format == "JPEG"


def test_it_is_asked_for_again_and_not_sent_again(mechanic, photo):
    address = reverse("photo", args=[photo.pk])
    etag = mechanic.get(address)["ETag"]
    assert mechanic.get(address, headers={"If-None-Match": etag}).status_code == 304


def test_nobody_outside_the_site_and_nobody_signed_out_sees_it(client, photo):
    user = factories.MembershipFactory(role="engineer").user
    for name in ("photo", "photo_small"):
        address = reverse(name, args=[photo.pk])
        assert client_of(user).get(address).status_code == 404
        assert client.get(address).status_code == 302
    removal = reverse("photo_remove", args=[photo.pk])
    stranger = client_of(factories.MembershipFactory(role="mechanic").user)
    assert stranger.post(removal).status_code == 404
    assert Photo.objects.exists()


def test_it_has_no_address_beside_that(client, mechanic, photo):
    for address in (f"/media/{photo.stored_at}", f"/{photo.stored_at}"):
        assert mechanic.get(address).status_code == 404


def test_a_photo_whose_file_is_gone_is_not_found(mechanic, photo, media):
    (media / photo.stored_at).unlink()
    assert mechanic.get(reverse("photo", args=[photo.pk])).status_code == 404


# Taken away


def test_it_is_taken_away_while_the_job_is_open(mechanic, photo, job):
    page = mechanic.post(reverse("photo_remove", args=[photo.pk]), headers=HTMX)
    assert page.status_code == 200 and not job.photos.exists()


def test_a_locked_record_keeps_its_photos_and_takes_no_more(shop, mechanic, job, photo):
    ring = "lower_ring"
    shop.popped(job, settings={(ring, "as_found"): "5 notches", (ring, "as_left"): "5 notches"})
    shop.sign(job)
    shop.verify(job)
    page = upload(mechanic, job, file(image("blue")))
    assert page.status_code == 422 and "its photos stay as they are" in text(page)
    said = upload(mechanic, job, file(image("blue")), headers=OUTBOX).json()
    assert "is locked" in said["faults"][0]["expected"]
    page = mechanic.post(reverse("photo_remove", args=[photo.pk]))
    assert page.status_code == 422 and "its photos stay as they are" in text(page)
    assert job.photos.count() == 1


def test_a_step_without_photos_takes_none(mechanic, job):
    assert upload(mechanic, job, file(image()), step="seal").status_code == 404


def test_an_auditor_sees_them_and_changes_nothing(shop, photo, job):
    auditor = client_of(factories.MembershipFactory(site=shop.site, role="auditor").user)
    page = auditor.get(reverse("inspection", args=[job.pk])).content.decode()
    assert reverse("photo_small", args=[photo.pk]) in page
    assert reverse("photo_remove", args=[photo.pk]) not in page
    assert auditor.post(reverse("photo_remove", args=[photo.pk])).status_code == 403
