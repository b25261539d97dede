"""Where devices stand on a day, or stood last."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F, Q, QuerySet

from fleet.models import Device, Installation, PositionDuty
from fleet.reports.due_lines import View

CHUNK = 1000


@dataclass(frozen=True)
class Stand:
    """A position as it was named on a day; `left_on` None while the device is still there."""

    position: int
    site_id: int
    site: str
    unit: int
    unit_name: str
    tag: str
    since: date
    left_on: date | None
    fluid: str = ""


def stands(devices: QuerySet[Device], as_of: date) -> dict[int, Stand]:
    """The last spell of each device begun by that day, in two queries."""
    spells = (
        Installation.objects.filter(device__in=devices, installed_on__lte=as_of)
        .select_related("position__site", "position__unit")
        .order_by("installed_on")
    )
    last = {spell.device_id: spell for spell in spells}
    duties = duties_on({spell.position_id for spell in last.values()}, as_of)
    return {device: _stand(spell, duties, as_of) for device, spell in last.items()}


def duties_on(
    positions: Iterable[int], as_of: date, known_at: datetime | None = None
) -> dict[int, PositionDuty]:
    """The duty each of these positions had that day, from what was written down by then."""
    begun = Q(from_on=None) | Q(from_on__lte=as_of)
    duties = PositionDuty.objects.filter(begun)
    rows = View(as_of, known_at).known(duties).select_related("unit", "tolerance")
    ordered = rows.order_by(F("from_on").asc(nulls_first=True))
    wanted = sorted(set(positions))
    return {
        duty.position_id: duty
        for start in range(0, len(wanted), CHUNK)
        for duty in ordered.filter(position__in=wanted[start : start + CHUNK])
    }


def _stand(spell: Installation, duties: dict[int, PositionDuty], as_of: date) -> Stand:
    place, duty = spell.position, duties.get(spell.position_id)
    left_on = spell.removed_on if spell.removed_on and spell.removed_on <= as_of else None
    unit = duty.unit if duty else place.unit
    return Stand(
        place.pk,
        place.site_id,
        place.site.name,
        unit.pk,
        unit.name,
        duty.tag if duty else place.tag,
        spell.installed_on,
        left_on,
        duty.fluid if duty else place.fluid,
    )
