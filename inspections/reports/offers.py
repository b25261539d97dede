"""What a mechanic may take over with one tap, because it was typed this very day already. It is
offered and never filled in: a gauge that was not read is no gauge."""

import json
from dataclasses import dataclass

from fleet.drawings.axis import day_words
from fleet.models import User
from inspections.actions.outside import is_outside
from inspections.models import Inspection, Method

GAUGE = ("gauge", "gauge_range", "gauge_accuracy", "gauge_due_on")


@dataclass(frozen=True)
class Offer:
    """fills: {box: text as it takes it} as JSON; words: what it is, for who reads before a tap."""

    fills: str
    words: str
    ref: str


def gauge_offer(job: Inspection, user: User) -> Offer | None:
    """The gauge and medium of this person's last other job of the same day; one query.

    An outside shop and a maker have gauges of their own.
    """
    if job.gauge or job.done_on is None or is_outside(job):
        return None
    rows = Inspection.objects.visible_to(user).filter(done_on=job.done_on, recorded_by=user)
    ours = rows.filter(shop="").exclude(method=Method.MAKER)
    last = ours.exclude(pk=job.pk).exclude(gauge="").order_by("-pk").first()
    if last is None:
        return None
    fills = json.dumps(_typed(last))
    due = f"good until {day_words(last.gauge_due_on)}" if last.gauge_due_on else ""
    medium = last.get_medium_display() if last.medium else ""
    said = [last.gauge, last.gauge_range, last.gauge_accuracy, due, medium]
    return Offer(fills, ", ".join(filter(None, said)), last.ref)


def _typed(last: Inspection) -> dict[str, str]:
    """A gauge goes over whole: what is not known of it empties its box, lest the box keep another
    gauge's."""
    typed = {f"id_{name}": str(getattr(last, name) or "") for name in GAUGE}
    return typed | ({"id_medium": last.medium} if last.medium else {})
