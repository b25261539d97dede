"""What happens at a position beside the work, as it was known on a day."""

from bisect import bisect_right
from collections.abc import Iterable
from datetime import date

from fleet.calc.facts import Idle, Owed, Place
from fleet.calc.intervals import Known


class Happenings:
    """Readings, triggers and days out of service, sorted once and asked day by day."""

    def __init__(self, owed: Owed, place: Place) -> None:
        self.in_service_on, self.season = owed.in_service_on, owed.season
        self.readings = sorted(place.readings, key=lambda reading: reading.read_on)
        self.read_on = [reading.read_on for reading in self.readings]
        self.triggers = sorted(place.triggers, key=lambda trigger: trigger.happened_on)
        self.happened_on = [trigger.happened_on for trigger in self.triggers]
        self.idles = merged(place.idles)
        self.idle_from = [idle.from_on for idle in self.idles]

    def known(self, day: date) -> Known:
        """What a rule may ask about on a day: nothing dated later."""
        return Known(
            day,
            self.in_service_on,
            self.season,
            self.readings[: bisect_right(self.read_on, day)],
            self.triggers[: bisect_right(self.happened_on, day)],
        )

    def is_idle(self, day: date) -> bool:
        begun = bisect_right(self.idle_from, day)
        return bool(begun) and not _is_over(self.idles[begun - 1], day)

    def last_return(self, day: date) -> Idle | None:
        """The span out of service that ended last, on or before a day."""
        begun = self.idles[: bisect_right(self.idle_from, day)]
        return next((idle for idle in reversed(begun) if _is_over(idle, day)), None)

    def days(self) -> Iterable[date]:
        yield from self.read_on
        yield from self.happened_on
        yield from self.idle_from
        yield from (idle.to_on for idle in self.idles if idle.to_on)


def _is_over(idle: Idle, day: date) -> bool:
    return idle.to_on is not None and idle.to_on <= day


def merged(idles: Iterable[Idle]) -> list[Idle]:
    """The same days as spans that neither overlap nor touch, in order."""
    found: list[Idle] = []
    for idle in sorted(idles, key=lambda i: (i.from_on, i.to_on or date.max)):
        last = found[-1] if found else None
        if last is None or (last.to_on is not None and last.to_on < idle.from_on):
            found.append(idle)
        elif last.to_on is not None:
            ends = idle.to_on and max(last.to_on, idle.to_on)
            found[-1] = Idle(last.from_on, ends)
    return found
