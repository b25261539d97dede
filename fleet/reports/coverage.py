"""Relieving capacity left at positions, from the register: arrangements, duties, devices fitted."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from fleet.calc.coverage import Coverage, coverage
from fleet.calc.protection import Duty, Joined, Member, duties
from fleet.models import Arrangement, ArrangementMember
from fleet.reports.in_place import InPlace, in_place


@dataclass(frozen=True)
class Protection:
    """Positions with everything that does their duty with them, on a day.

    duties: by position, the same one for all that it joins. places: what stands where, also at
    positions that were not asked for but are arranged with one that was.
    """

    day: date
    duties: Mapping[int, Duty]
    places: Mapping[int, InPlace]

    def without(self, position: int) -> Coverage:
        """What is left of its duty if this one is out."""
        return coverage(self.duties[position], [position])


def protection_of(positions: Collection[int], day: date) -> Protection:
    """At most eleven queries, whatever the number of positions."""
    arrangements = _arrangements(positions)
    joined = {key for one in arrangements for key in one.roles}
    places = in_place({*positions, *joined}, day)
    members = [member_of(place) for place in places.values()]
    found = duties(members, arrangements)
    return Protection(day, {m.position: one for one in found for m in one.members}, places)


def member_of(place: InPlace) -> Member:
    """A position as the arithmetic takes it: what was typed, and what is missing as missing."""
    device, duty = place.device, place.duty
    known = device is not None and device.model_id is not None and device.orifice
    return Member(
        position=place.position.pk,
        tag=place.position.tag,
        rated=device.rated_capacity if device else None,
        required=duty.required_capacity if duty else None,
        set_pressure=duty.set_pressure if duty else None,
        make=(device.model_id, device.orifice) if device and known else None,
        absent=place.absent,
        is_idle=place.is_idle,
    )


def _arrangements(positions: Collection[int]) -> list[Joined]:
    """Those of the positions, and those of whoever they are arranged with, to the last."""
    kinds: dict[int, Arrangement] = {}
    roles: dict[int, dict[int, str]] = {}
    fresh, seen = set(positions), set[int]()
    while fresh:
        seen |= fresh
        touched = ArrangementMember.objects.filter(position__in=fresh)
        others = touched.exclude(arrangement__in=list(kinds)).values("arrangement")
        rows = ArrangementMember.objects.filter(arrangement__in=others)
        for row in rows.select_related("arrangement").order_by("arrangement", "pk"):
            kinds[row.arrangement_id] = row.arrangement
            roles.setdefault(row.arrangement_id, {})[row.position_id] = row.role
        fresh = {key for own in roles.values() for key in own} - seen
    return [Joined(kinds[pk].name, kinds[pk].kind, roles[pk]) for pk in sorted(kinds)]
