"""When work can be done: outages with their units, and the hours a job takes."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from fleet import audit
from fleet.models import JobHours, Outage, OutageUnit, Site, Unit, User


@audit.writing()
def save_outages(
    outages: Sequence[tuple[Outage, Sequence[Unit]]], *, by: User, at: datetime
) -> None:
    """Write outages, new or changed, each with the units it shuts down."""
    changes = []
    for outage, units in outages:
        outage.save()
        before = list(outage.unit_links.all())
        wanted = {unit.pk for unit in units}
        gone = [link for link in before if link.unit_id not in wanted]
        outage.unit_links.filter(unit__in=[link.unit_id for link in gone]).delete()
        new = [OutageUnit(outage=outage, unit_id=pk) for pk in sorted(wanted)]
        known = {link.unit_id for link in before}
        added = OutageUnit.objects.bulk_create(link for link in new if link.unit_id not in known)
        kept = [link for link in before if link.unit_id in wanted]
        changes.append(audit.change("outage saved", outage, *kept, *added, gone=gone))
    audit.record(changes, by=by, at=at)


@audit.writing()
def save_job_hours(hours: Sequence[JobHours], *, by: User, at: datetime) -> None:
    """Write job hours, new or changed."""
    for row in hours:
        row.save()
    audit.record((audit.change("job hours saved", row) for row in hours), by=by, at=at)


@audit.writing()
def offer_weekly(site: Site, hours: Decimal | None, *, by: User, at: datetime) -> Site:
    """What a site's shop can take in a week without an outage; None: nobody says."""
    stored = Site.objects.get(pk=site.pk)
    if stored.weekly_bench_hours == hours:
        return stored
    stored.weekly_bench_hours = hours
    stored.save()
    audit.record([audit.change("weekly bench hours set", stored)], by=by, at=at)
    return stored
