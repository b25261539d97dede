"""What has to be known to judge inspections: where each device was, and what was asked of it."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from fleet.models import Installation, PositionDuty, Site, ToleranceBand
from inspections.models import Inspection, SettingPoint

CHUNK = 1000


@dataclass
class Context:
    """Spells by device, duties by position, setting points by model; all in date order.

    own: by site, the tolerance that valves are left within, where one was entered.
    """

    spells: dict[int, list[Installation]] = field(default_factory=dict)
    duties: dict[int, list[PositionDuty]] = field(default_factory=dict)
    points: dict[int, dict[str, SettingPoint]] = field(default_factory=dict)
    earlier: dict[int, list[date]] = field(default_factory=dict)
    own: dict[int, ToleranceBand] = field(default_factory=dict)

    def spell_served(self, device: int, day: date) -> Installation | None:
        """The spell a record of that day looks back on: the last one begun before the day, or,
        with none, the one begun on it (a device fresh from the shelf)."""
        begun = [s for s in self.spells.get(device, []) if s.installed_on <= day]
        before = [s for s in begun if s.installed_on < day]
        found = before or begun
        return found[-1] if found else None

    def spell_ahead(self, device: int, day: date) -> Installation | None:
        """The first spell after a day: what a device that never stood anywhere was made ready
        for."""
        return next((s for s in self.spells.get(device, []) if s.installed_on > day), None)

    def spell_on(self, device: int, day: date) -> Installation | None:
        """The spell in which a device stands on a day, the day of removal included."""
        for spell in reversed(self.spells.get(device, [])):
            if spell.installed_on <= day and (spell.removed_on is None or day <= spell.removed_on):
                return spell
        return None

    def duty_on(self, position: int, day: date) -> PositionDuty | None:
        duties = self.duties.get(position, [])
        place = bisect_right([duty.from_on or date.min for duty in duties], day)
        return duties[place - 1] if place else None

    def own_tolerance(self, inspection: Inspection) -> ToleranceBand | None:
        """What the site leaves valves within, if it held on the day of the work."""
        found, day = self.own.get(inspection.site_id or 0), inspection.done_on
        if found is None or day is None or (found.from_on and day < found.from_on):
            return None
        return found

    def tags_served(self, device: int, day: date) -> set[str]:
        """Every tag the device stood at since its record before this one."""
        before = [d for d in self.earlier.get(device, []) if d < day]
        since = before[-1] if before else date.min
        return {
            duty.tag
            for spell in self.spells.get(device, [])
            if spell.installed_on <= day and (spell.removed_on is None or spell.removed_on > since)
            for duty in self.duties.get(spell.position_id, [])
        }


def context_of(inspections: Sequence[Inspection]) -> Context:
    """Load the context of these inspections in a few queries a thousand devices."""
    devices = {inspection.device_id for inspection in inspections}
    context = Context()
    context.spells = _by("device_id", _spells(devices))
    places = {s.position_id for spells in context.spells.values() for s in spells}
    context.duties = _by("position_id", _duties(places))
    for duties in context.duties.values():
        duties.sort(key=lambda duty: duty.from_on or date.min)
    for point in SettingPoint.objects.all():
        context.points.setdefault(point.model_id, {})[point.setting] = point
    context.earlier = _earlier(devices, inspections)
    context.own = _own({i.site_id for i in inspections if i.site_id is not None})
    return context


def _spells(devices: Iterable[int]) -> Iterable[Installation]:
    for chunk in _chunks(devices):
        yield from Installation.objects.filter(device__in=chunk).order_by("installed_on")


def _duties(positions: Iterable[int]) -> Iterable[PositionDuty]:
    for chunk in _chunks(positions):
        yield from PositionDuty.objects.filter(position__in=chunk).select_related("tolerance")


def _own(sites: Iterable[int]) -> dict[int, ToleranceBand]:
    given = Site.objects.filter(pk__in=sites).exclude(as_left_tolerance=None)
    rows = given.select_related("as_left_tolerance")
    return {site.pk: site.as_left_tolerance for site in rows if site.as_left_tolerance}


def _earlier(devices: Iterable[int], batch: Sequence[Inspection]) -> dict[int, list[date]]:
    """Days on which each device was worked on, stored or in this batch, in order."""
    days: dict[int, set[date]] = defaultdict(set)
    for chunk in _chunks(devices):
        stored = Inspection.objects.filter(device__in=chunk).exclude(done_on=None)
        for device, day in stored.values_list("device", "done_on"):
            if day is not None:
                days[device].add(day)
    for inspection in batch:
        if inspection.done_on:
            days[inspection.device_id].add(inspection.done_on)
    return {device: sorted(found) for device, found in days.items()}


def _chunks(ids: Iterable[int]) -> Iterable[list[int]]:
    ordered = sorted(ids)
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]


def _by(name: str, rows: Iterable) -> dict:
    groups = defaultdict(list)
    for row in rows:
        groups[getattr(row, name)].append(row)
    return dict(groups)
