"""Sites, units, equipment and device models come into being; equipment may be re-rated."""

from collections.abc import Sequence
from datetime import datetime

from django.db import models

from fleet import audit
from fleet.models import DeviceModel, Equipment, Site, Unit, User

Mentioned = Site | Unit | Equipment | DeviceModel


@audit.writing()
def add_mentioned(rows: Sequence[Mentioned], *, by: User, at: datetime) -> None:
    """Write new rows of one table, unsaved and without stamps."""
    if not rows:
        return
    table: type[models.Model] = type(rows[0])
    table._default_manager.bulk_create(rows, batch_size=1000)
    action = f"{table._meta.verbose_name} added"
    audit.record((audit.change(action, row) for row in rows), by=by, at=at)


@audit.writing()
def rerate(equipment: Sequence[Equipment], *, by: User, at: datetime) -> None:
    """Save the allowed pressure (MAWP) of equipment that has been given one."""
    Equipment.objects.bulk_update(equipment, ["mawp"], batch_size=500)
    audit.record((audit.change("equipment re-rated", row) for row in equipment), by=by, at=at)
