"""What the settings review of a site calls repeatedly: two numbers of the site's own."""

from datetime import datetime

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import Site, User

MOST_OVERHAULS = 50


@audit.writing()
def review_by(site: Site, *, overhauls: int, resets: int, by: User, at: datetime) -> Site:
    """Flag what was reset in `resets` of the last `overhauls`. Raises Refused for numbers that
    could never flag anything, or would flag everything."""
    faults = []
    if not 1 <= overhauls <= MOST_OVERHAULS:
        faults.append(Fault("overhauls", str(overhauls), f"1 to {MOST_OVERHAULS} overhauls"))
    if not 1 <= resets <= max(overhauls, 1):
        words = f"1 to {max(overhauls, 1)} resets, of the overhauls that are looked at"
        faults.append(Fault("resets", str(resets), words))
    if faults:
        raise Refused(faults)
    stored = Site.objects.get(pk=site.pk)
    if (stored.review_overhauls, stored.review_resets) == (overhauls, resets):
        return stored
    stored.review_overhauls, stored.review_resets = overhauls, resets
    stored.save()
    audit.record([audit.change("review numbers set", stored)], by=by, at=at)
    return stored
