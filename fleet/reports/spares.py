"""Spares on the shelf that could stand in at a position, with a valid test on the day.

A spare is interchangeable when the check at fitting finds nothing and can compare everything that
is known of the device fitted last: set or cold test pressure, capacity, kind, orifice, sizes and
shelf life. Whether its test is valid is what the position's own rules would say on the day if it
were fitted then. What cannot be compared does not fit: missing stays missing.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import Q

from fleet.actions.fitting import ALIKE, mismatches_with, unchecked_with
from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.clocks import DATED, NO_RECORD, Answer, Clock
from fleet.calc.duedates import NOWHERE, Event, Place, Spell
from fleet.calc.facts import COMMISSIONED_ON
from fleet.models import Device, Installation, Obligation, ServiceEvent
from fleet.replay_facts import EVENT_COLUMNS, Facts, event_of, load_facts
from fleet.replays import owed_of
from fleet.reports.in_place import InPlace

SHOWN = 3
Kin = tuple[str, Decimal]  # kind of device and nameplate set pressure [kPa gauge]


@dataclass(frozen=True)
class Spare:
    """One device on the shelf, for one position. problems: why it does not do; () = it does.
    valid_until: the earliest day its test or its shelf life ends there, None where none is known.
    """

    device: Device
    problems: tuple[str, ...]
    valid_until: date | None = None


@dataclass(frozen=True)
class Shelf:
    """Devices that are free on a day, and what the positions that ask for them need.

    owed: by position, what it owes of its device. spells, events: by device.
    """

    day: date
    places: Mapping[int, InPlace]
    devices: Sequence[Device]
    owed: Mapping[int, Sequence[Obligation]]
    facts: Facts
    spells: Mapping[int, Sequence[Spell]]
    events: Mapping[int, Sequence[Event]]

    def fitting(self, position: int) -> list[Spare]:
        """Those that do, the one that is valid longest last: the oldest test is used first."""
        place = self.places[position]
        alike = [device for device in self._kin_of(place) if self._fits(device, place)]
        tested = [self._tested(device, place) for device in alike]
        found = [spare for spare in tested if not spare.problems]
        return sorted(found, key=lambda s: (s.valid_until or date.max, s.device.pk))

    def why_none(self, position: int) -> str:
        """Why nothing on the shelf does; empty where something does."""
        place = self.places[position]
        if self.fitting(position):
            return ""
        if place.last is None:
            return "nothing has ever been fitted here that a spare could be compared with"
        near = [self._judged(device, place) for device in self._kin_of(place)[:SHOWN]]
        said = "; ".join(f"{spare.device}: {spare.problems[0]}" for spare in near)
        return said or "nothing on the shelf is of its kind and set pressure"

    @cached_property
    def _by_kin(self) -> dict[Kin, list[Device]]:
        found: dict[Kin, list[Device]] = defaultdict(list)
        for device in self.devices:
            if device.nameplate_set is not None:
                found[device.kind, device.nameplate_set.kpag].append(device)
        return found

    def _kin_of(self, place: InPlace) -> list[Device]:
        """Those of the kind and set pressure that the position asks for."""
        duty, last = place.duty, place.last
        if duty is None or last is None:
            return []
        asked = {q.kpag for q in (duty.set_pressure, duty.cold_test_pressure) if q is not None}
        found = [device for kpag in sorted(asked) for device in self._by_kin[last.kind, kpag]]
        return [device for device in found if device.site_id in (None, place.position.site_id)]

    def _fits(self, device: Device, place: InPlace) -> bool:
        """The same for every position that asks for the same, so it is asked once."""
        duty, last = place.duty, place.last
        if duty is None:
            return False
        asks = (duty.set_pressure, duty.cold_test_pressure, duty.required_capacity, duty.status)
        key = (device.pk, *map(str, asks), *(str(getattr(last, name)) for name in ALIKE))
        if key not in self._known_fits:
            self._known_fits[key] = not self._misfits(device, place)
        return self._known_fits[key]

    @cached_property
    def _known_fits(self) -> dict[tuple, bool]:
        return {}

    def _misfits(self, device: Device, place: InPlace) -> list[str]:
        found = mismatches_with(device, place.duty, place.last, self.day)
        lacking = unchecked_with(device, place.duty, place.last)
        return found + [f"its {name} is not given" for name in lacking]

    def _judged(self, device: Device, place: InPlace) -> Spare:
        """What does not fit is not asked about its tests."""
        problems = self._misfits(device, place)
        return Spare(device, tuple(problems)) if problems else self._tested(device, place)

    def _tested(self, device: Device, place: InPlace) -> Spare:
        owed = self.owed.get(place.position.pk, ())
        answers = [(row, self._answer(row, device, place)) for row in owed]
        stale = [words for row, answer in answers if (words := self._stale(row, answer))]
        if not self.events.get(device.pk) and not stale:
            stale.append("no test of it is on record")
        ends = [answer.due_on for _, answer in answers if answer.due_on is not None]
        if device.shelf_expires_on is not None:
            ends.append(device.shelf_expires_on)
        return Spare(device, tuple(dict.fromkeys(stale)), min(ends, default=None))

    def _answer(self, row: Obligation, device: Device, place: InPlace) -> Answer:
        """What would hold on the day if the device were fitted then; one answer for all positions
        of which nothing is recorded that could make it another."""
        here, facts = place.position.pk, self.facts
        owed, decisions = owed_of(row, place.position), facts.decisions.get(row.pk, [])
        standings, around = facts.standings.get(here, []), facts.places.get(here, NOWHERE)
        is_own = decisions or owed.counts_from == COMMISSIONED_ON or _has_happened(around)
        alike = (row.rule_id, owed.activity, owed.counts_from, owed.shelf_limit, owed.season)
        since = (owed.in_service_on, tuple(standings), here if is_own else None)
        key = (device.pk, *alike, *since)
        if key not in self._answers:
            clock = Clock(
                owed,
                here,
                self._spells_with(device, here),
                [*self.events.get(device.pk, ()), *facts.events_at.get(here, [])],
                decisions,
                standings,
                around,
            )
            self._answers[key] = clock.answer(self.day)
        return self._answers[key]

    @cached_property
    def _answers(self) -> dict[tuple, Answer]:
        return {}

    def _spells_with(self, device: Device, position: int) -> list[Spell]:
        before = [_ended(spell, self.day) for spell in self.facts.spells_at.get(position, [])]
        own = self.spells.get(device.pk, ())
        return [*(s for s in before if s), *own, Spell(device.pk, position, self.day, None)]

    def _stale(self, owed: Obligation, answer: Answer) -> str:
        what = owed.activity.replace("_", " ")
        if answer.state == NO_RECORD:
            waited = f", the last on {answer.last_on} waited too long" if answer.last_on else ""
            return f"no {what} of it counts{waited}"
        if answer.state == DATED and answer.due_on is not None and answer.due_on < self.day:
            return f"its {what} of {answer.last_on} would be past its date, {answer.due_on}"
        return ""


def _has_happened(place: Place) -> bool:
    return any((place.idles, place.readings, place.triggers))


def _ended(spell: Spell, day: date) -> Spell | None:
    """What stands at the position gives way that day."""
    if spell.installed_on >= day:
        return None
    ends = min(spell.removed_on or day, day)
    return spell._replace(removed_on=ends)


def shelf_for(places: Mapping[int, InPlace], day: date) -> Shelf:
    """About fifteen queries, whatever the number of positions and devices."""
    devices = _free(places.values(), day)
    keys = [device.pk for device in devices]
    owed = _owed(places, day)
    ids = [row.pk for rows in owed.values() for row in rows]
    facts = load_facts(sorted(places), ids, with_stored=False)
    spells: dict[int, list[Spell]] = defaultdict(list)
    rows = Installation.objects.filter(device__in=keys, installed_on__lte=day)
    for row in rows.values_list("device", "position", "installed_on", "removed_on"):
        spells[row[0]].append(Spell(*row))
    events: dict[int, list[Event]] = defaultdict(list)
    done = ServiceEvent.objects.counting().filter(device__in=keys, done_on__lte=day)
    for columns in done.order_by("done_on", "pk").values_list(*EVENT_COLUMNS):
        event = event_of(*columns)
        events[event.device].append(event)
    return Shelf(day, places, devices, owed, facts, spells, events)


def _free(places: Iterable[InPlace], day: date) -> list[Device]:
    """Available and not fitted anywhere; of the positions' sites, or of none yet."""
    sites = {place.position.site_id for place in places}
    there = Installation.objects.filter(Q(removed_on=None) | Q(removed_on__gt=day))
    rows = Device.objects.filter(status=Device.Status.AVAILABLE)
    rows = rows.filter(Q(site__in=sites) | Q(site=None)).exclude(pk__in=there.values("device"))
    return list(rows.order_by("number", "pk"))


def _owed(positions: Collection[int], day: date) -> dict[int, list[Obligation]]:
    """What the device at each position owes on the day."""
    rows = Obligation.objects.filter(position__in=positions).exclude(activity__in=EARNED_IN_PLACE)
    rows = rows.filter(Q(from_on=None) | Q(from_on__lte=day))
    rows = rows.filter(Q(until_on=None) | Q(until_on__gt=day))
    found: dict[int, list[Obligation]] = defaultdict(list)
    for row in rows.select_related("rule").order_by("pk"):
        found[row.position_id].append(row)
    return found
