"""Devices come onto the register and their particulars change."""

from collections.abc import Sequence
from datetime import datetime

from fleet import audit
from fleet.models import Device, User

BATCH = 500
FIELDS = tuple(f.name for f in Device._meta.concrete_fields if not f.primary_key)


@audit.writing()
def add_devices(devices: Sequence[Device], *, by: User, at: datetime) -> None:
    """Write new devices, unsaved."""
    Device.objects.bulk_create(devices, batch_size=BATCH)
    audit.record((audit.change("device added", device) for device in devices), by=by, at=at)


@audit.writing()
def update_devices(
    devices: Sequence[Device], *, by: User, at: datetime, fields: Sequence[str] = FIELDS
) -> None:
    """Write what changed of stored devices; nothing but `fields` where those are named."""
    Device.objects.bulk_update(devices, fields, batch_size=BATCH)
    audit.record((audit.change("device changed", device) for device in devices), by=by, at=at)
