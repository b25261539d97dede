"""Photos of a job: kept under their own digest, each once a record, taken away only while it is
open."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import User
from inspections.actions import files
from inspections.actions.outside import unsign
from inspections.calc.pictures import Picture
from inspections.models import Inspection, Photo


@audit.writing()
def keep_photos(
    inspection: Inspection, pictures: Sequence[Picture], *, step: str, by: User, at: datetime
) -> list[Photo]:
    """Keep pictures with an open record. One that it has already is not kept twice; returns the
    new ones. Who signed it has to sign again. Raises Refused when the record is locked."""
    stored = _open(inspection.pk)
    known = set(stored.photos.values_list("sha256", flat=True))
    new = []
    for picture in pictures:
        if picture.sha256 not in known:
            known.add(picture.sha256)
            new.append(_keep(stored, picture, step, by, at))
    if new:
        _unsign(stored)
        audit.record([audit.change("photos kept", stored, *new)], by=by, at=at)
    return new


@audit.writing()
def remove_photo(photo: Photo, *, by: User, at: datetime) -> None:
    """Take a photo away, and its file once no record has it. Raises Refused when it is locked."""
    stored = _open(photo.inspection_id)
    row = stored.photos.get(pk=photo.pk)
    gone = Photo.objects.get(pk=row.pk)
    row.delete()
    _unsign(stored)
    audit.record([audit.change("photo removed", stored, gone=[gone])], by=by, at=at)
    transaction.on_commit(lambda: forget(gone))


@audit.writing()
def forget(photo: Photo) -> None:
    """Delete the file of a photo that no record has any more."""
    if not Photo.objects.filter(sha256=photo.sha256).exists():
        files.unlink([photo.stored_at, photo.small_at])


def _open(key: int) -> Inspection:
    stored = Inspection.objects.get(pk=key)
    if stored.locked_at is not None:
        raise Refused([Fault("photos", stored.ref, "is locked: its photos stay as they are")])
    return stored


def _unsign(inspection: Inspection) -> None:
    """What was signed is not what is there now."""
    if inspection.signed_at is not None:
        unsign(inspection)
        inspection.version += 1
        inspection.save()


def _keep(inspection: Inspection, picture: Picture, step: str, by: User, at: datetime) -> Photo:
    photo = Photo(
        inspection=inspection,
        sha256=picture.sha256,
        kind=picture.kind,
        width=picture.width,
        height=picture.height,
        size=len(picture.data),
        step=step,
        taken_by=by,
        received_at=at,
    )
    files.write(photo.stored_at, picture.data)
    files.write(photo.small_at, picture.small)
    photo.save()
    return photo
