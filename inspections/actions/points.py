"""What the devices of a model can be set to."""

from collections.abc import Sequence
from datetime import datetime

from fleet import audit
from fleet.models import User
from inspections.models import SettingPoint


@audit.writing()
def save_points(points: Sequence[SettingPoint], *, by: User, at: datetime) -> None:
    """Write setting points, new or changed."""
    for point in points:
        point.save()
    audit.record((audit.change("setting point saved", point) for point in points), by=by, at=at)
