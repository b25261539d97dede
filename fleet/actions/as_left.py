"""What a site leaves its valves within: a tolerance of its own, apart from the limit in force."""

from datetime import datetime

from fleet import audit
from fleet.actions.rules import tolerances_in_use
from fleet.faults import Fault, Refused
from fleet.models import Site, User


@audit.writing()
def leave_within(site: Site, code: str, *, by: User, at: datetime) -> Site:
    """Name the tolerance, or with "" none: records not yet locked are then asked by it, and those
    that are keep what they were judged by. Raises Refused for a code nobody knows."""
    stored = Site.objects.get(pk=site.pk)
    band = tolerances_in_use([code], by=by, at=at).get(code) if code else None
    if code and band is None:
        raise Refused([Fault("tolerance", code, "a tolerance of the library, or the site's own")])
    if stored.as_left_tolerance_id == (band.pk if band else None):
        return stored
    stored.as_left_tolerance = band
    stored.save()
    audit.record([audit.change("as-left tolerance set", stored)], by=by, at=at)
    return stored
