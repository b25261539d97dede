"""When work can be done: outages with their units, and the hours a job takes."""

from collections.abc import Sequence
from datetime import datetime

from fleet import audit
from fleet.models import JobHours, Outage, Unit, User


@audit.writing()
def save_outages(
    outages: Sequence[tuple[Outage, Sequence[Unit]]], *, by: User, at: datetime
) -> None:
    """Write outages, new or changed, each with the units it shuts down."""
    for outage, units in outages:
        outage.save()
        outage.units.set(units)
    audit.record((audit.change("outage saved", outage) for outage, _ in outages), by=by, at=at)


@audit.writing()
def save_job_hours(hours: Sequence[JobHours], *, by: User, at: datetime) -> None:
    """Write job hours, new or changed."""
    for row in hours:
        row.save()
    audit.record((audit.change("job hours saved", row) for row in hours), by=by, at=at)
