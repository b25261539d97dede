"""A locked record and its correction both show what was photographed and checked."""

import pytest
from django.urls import reverse

from fleet import clock
from inspections.actions.start import correct
from inspections.models import ContactCheck
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.test_photos import file, image, upload

pytestmark = pytest.mark.django_db
RING = "lower_ring"


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def test_both_show_photos_and_contact_checks_and_point_at_each_other(shop, mechanic, job):
    upload(mechanic, job, file(image()))
    ContactCheck.objects.create(inspection=job, order=1, is_unbroken=False, note="lapped again")
    ContactCheck.objects.create(inspection=job, order=2, is_unbroken=True)
    shop.popped(job, settings={(RING, "as_found"): "5 notches", (RING, "as_left"): "5 notches"})
    shop.sign(job)
    shop.verify(job)
    new = correct(job, by=shop.mechanic, at=clock.now())
    upload(mechanic, new, file(image("blue")))
    for record, other, count in ((job, new, 1), (new, job, 2)):
        page = mechanic.get(reverse("inspection", args=[record.pk]))
        assert page.content.decode().count("<img") == record.photos.count() == count
        assert "Broken ring: lapped again" in text(page) and "Unbroken ring" in text(page)
        assert str(other) in text(page)
    copy = new.photos.get(sha256=job.photos.get().sha256)
    mechanic.post(reverse("photo_remove", args=[copy.pk]))
    assert new.photos.count() == 1  # and the file stays for the old record
    assert mechanic.get(reverse("photo", args=[job.photos.get().pk])).status_code == 200
