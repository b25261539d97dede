"""What has counted, by the day it was known: the history that a clock runs on.

A history belongs to a device (what it has earned, wherever it was) or to a position (what was
earned in place). A fact of a later day never changes what a history answers for an earlier one.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from fleet.calc.activities import EARNED_IN_PLACE, satisfies
from fleet.calc.durations import Duration
from fleet.calc.facts import INSTALLED_ON, Event, Owed, Spell

Done = tuple[date, int | None]  # the day and the event; None = a fitting, which is no event


class Entry(NamedTuple):
    """One thing done, the day and the event.

    is_spent: it waited on the shelf past its limit, so it stands for no record.
    upto: how many different days have counted, this one's included.
    """

    done_on: date
    event: int | None
    is_spent: bool
    upto: int


@dataclass(frozen=True)
class History:
    """Entries in the order they were done, when each was done, and the days that counted."""

    entries: list[Entry]
    done: list[date]
    days: list[date]

    def last(self, day: date) -> Entry | None:
        """The last entry done on or before a day."""
        known = bisect_right(self.done, day)
        return self.entries[known - 1] if known else None


class Service:
    """The spells of one device, or of one position, by day. They never overlap."""

    def __init__(self, spells: Iterable[Spell]) -> None:
        self.spells = sorted(spells, key=lambda s: (s.installed_on, s.removed_on or date.max))
        self.starts = [spell.installed_on for spell in self.spells]

    def on(self, day: date) -> Spell | None:
        """The spell that holds on a day."""
        begun = bisect_right(self.starts, day)
        if not begun:
            return None
        spell = self.spells[begun - 1]
        return spell if spell.removed_on is None or day < spell.removed_on else None

    def entered(self, day: date) -> date | None:
        """A day in service stands for itself, another for the next fitting after it."""
        if self.on(day) is not None:
            return day
        begun = bisect_right(self.starts, day)
        return self.starts[begun] if begun < len(self.starts) else None

    def first_from(self, day: date) -> Spell | None:
        """The spell that holds on a day, else the first one after it."""
        ahead = (s for s in self.spells if s.removed_on is None or s.removed_on > day)
        return next(ahead, None)


def histories(
    owed: Owed, position: int, service: Service, spells: Iterable[Spell], events: Iterable[Event]
) -> dict[int | None, History]:
    """The position's history under None if it is earned in place, else that of each device."""
    counted = [event for event in events if satisfies(event.activity, owed.activity)]
    if owed.activity in EARNED_IN_PLACE:
        done: list[Done] = [(e.done_on, e.id) for e in counted if e.position == position]
        if satisfies("replacement", owed.activity):
            done += [(day, None) for day in service.starts]
        return {None: history_of(done)}
    earned: dict[int | None, list[Done]] = defaultdict(list)
    for event in counted:
        earned[event.device].append((event.done_on, event.id))
    devices = {spell.device for spell in service.spells}
    if owed.counts_from != INSTALLED_ON:
        return {device: history_of(earned[device]) for device in devices}
    served: dict[int, list[Spell]] = defaultdict(list)
    for spell in spells:
        served[spell.device].append(spell)
    return {
        device: history_in_service(earned[device], Service(served[device]), owed.shelf_limit)
        for device in devices
    }


class Served(NamedTuple):
    """Something done by, or for, what was in service at the position, and since which day it was
    both done and in service there."""

    on: date
    done_on: date
    event: int | None


def served_days(service: Service, found: dict[int | None, History]) -> list[Served]:
    """Everything done that the position had the good of, whichever device stood there."""
    served = []
    for spell in service.spells:
        history = found.get(spell.device) or found.get(None) or History([], [], [])
        for entry in history.entries:
            on = max(spell.installed_on, entry.done_on)
            if not entry.is_spent and (spell.removed_on is None or on < spell.removed_on):
                served.append(Served(on, entry.done_on, entry.event))
    return served


def history_of(done: Iterable[Done]) -> History:
    """A history in which each thing counts from the day it was done."""
    return _history((day, day, event, False) for day, event in _ordered(done))


def history_in_service(
    done: Iterable[Done], service: Service, shelf_limit: Duration | None
) -> History:
    """A history in which each thing counts from the day the device entered service after it.

    What no service followed is left out: there is no day to ask about it.
    """
    rows = []
    for day, event in _ordered(done):
        counts_on = service.entered(day)
        if counts_on is not None:
            is_spent = shelf_limit is not None and counts_on > shelf_limit.after(day)
            rows.append((day, counts_on, event, is_spent))
    return _history(rows)


def _ordered(done: Iterable[Done]) -> list[Done]:
    """By day; of one day's, the event recorded last stands last and is the one named."""
    return sorted(done, key=lambda pair: (pair[0], pair[1] or 0))


def _history(rows: Iterable[tuple[date, date, int | None, bool]]) -> History:
    """From (done on, counts on, event, is spent) in order. A day counts once."""
    history = History([], [], [])
    for done_on, counts_on, event, is_spent in rows:
        if not is_spent and history.days[-1:] != [counts_on]:
            history.days.append(counts_on)
        history.done.append(done_on)
        history.entries.append(Entry(done_on, event, is_spent, len(history.days)))
    return history
