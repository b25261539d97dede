"""Which tests of a sampled group failed, and at which member."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from fleet.calc.activities import satisfies
from fleet.calc.facts import Event, Found, Owed, Spell
from fleet.calc.histories import Service


class Tested(NamedTuple):
    """A test of what served at a member, and what it found."""

    on: date
    found: Found

    def is_failure(self, band: Fraction) -> bool:
        """Outside the greater of the owner's tolerance and `band` (percent of set).

        Greater: what is outside it is outside both. What had not opened by the pressure it was
        taken to has not shown that it opens in time: a failure.
        """
        if self.found.is_bound:
            return True
        if self.found.verdict == "in":
            return False
        percent = self.found.percent
        return self.found.verdict != "" if percent is None else abs(percent) > band


def tests_at(
    position: int, owed: Owed, spells: Iterable[Spell], events: Sequence[Event]
) -> list[Tested]:
    """Tests of what served at a position that say what they found."""
    done = done_at(position, owed, spells, events)
    return [Tested(event.done_on, event.found) for event in done if event.found is not None]


def done_at(
    position: int, owed: Owed, spells: Iterable[Spell], events: Sequence[Event]
) -> list[Event]:
    """What was done to the devices that served at a position: while one served there, or after it
    came out and before it served anywhere else. What is earned in place was done at the place."""
    served: dict[int, list[Spell]] = defaultdict(list)
    for one in spells:
        served[one.device].append(one)
    service = {device: Service(own) for device, own in served.items()}
    found = []
    for event in events:
        if not satisfies(event.activity, owed.activity):
            continue
        if event.device is None:
            if event.position == position:
                found.append(event)
            continue
        spell = (
            last_served(service[event.device], event.done_on) if event.device in service else None
        )
        if spell is not None and spell.position == position:
            found.append(event)
    return found


def last_served(service: Service, day: date) -> Spell | None:
    """The spell a device was in on a day, else the last one before; a device fitted on the day it
    was tested had served where it stood before."""
    begun = [spell for spell in service.spells if spell.installed_on < day]
    if begun:
        return begun[-1]
    return service.on(day)
