"""How much work each month brings: visits, and the bench hours they take as far as anybody said."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from fleet.calc.cycles import ONE_DAY
from fleet.calc.workload import Visit

Ends = Mapping[tuple[int, date], date]
NO_ENDS: Ends = {}
Hours = Mapping[tuple[str, str], Decimal]  # by activity and kind of device, "" for any kind


def month_of(day: date) -> int:
    """Months since year 0: one number a month, in order."""
    return day.year * 12 + day.month - 1


def first_day_of(month: int) -> date:
    return date(month // 12, month % 12 + 1, 1)


@dataclass(frozen=True)
class Load:
    """The work of a month. visits: those that begin in it and have bench work; hours: at the bench.

    on_stream, on_stream_hours: jobs that need neither an outage nor the bench. missing: jobs of
    either kind that nobody gave hours for; they are in no sum of hours.
    """

    visits: int = 0
    hours: Fraction = Fraction()
    on_stream: int = 0
    on_stream_hours: Fraction = Fraction()
    missing: int = 0

    def plus(self, other: "Load") -> "Load":
        return Load(
            self.visits + other.visits,
            self.hours + other.hours,
            self.on_stream + other.on_stream,
            self.on_stream_hours + other.on_stream_hours,
            self.missing + other.missing,
        )


def hours_of(activity: str, kind: str, hours: Hours) -> Decimal | None:
    """Those of the kind, else those of any kind, else nobody has said."""
    return hours.get((activity, kind), hours.get((activity, "")))


def loads(
    found: Iterable[Visit], hours: Hours, on_stream: Iterable[str], ends: Ends = NO_ENDS
) -> dict[tuple[int, int], Load]:
    """Each unit's load of each month that has any, by (unit, month).

    ends: the last day of the outage of a unit that takes work on a day; what it takes at the bench
    is spread over its days from there on, as the hours it offers are.
    """
    light = frozenset(on_stream)
    jobs: Counter[tuple[int, date, str, str]] = Counter()
    benched: Counter[tuple[int, date]] = Counter()
    for visit in found:
        place, day = visit.place, visit.on
        if (place.unit, day) not in ends:
            day = day.replace(day=1)  # one of few days to count by
        for activity in visit.activities:
            jobs[place.unit, day, activity, place.kind] += 1
        benched[place.unit, day] += not light.issuperset(visit.activities)
    summed: dict[tuple[int, int], Load] = {}

    def add(unit: int, month: int, load: Load) -> None:
        summed[unit, month] = summed.get((unit, month), NO_LOAD).plus(load)

    for (unit, day), number in benched.items():
        add(unit, month_of(day), Load(visits=number))
    for (unit, day, activity, kind), number in jobs.items():
        each = hours_of(activity, kind, hours)
        taken = None if each is None else Fraction(each) * number
        if activity in light:
            add(unit, month_of(day), _on_stream(number, taken))
        elif taken is None:
            add(unit, month_of(day), Load(missing=number))
        else:
            for month, share in shares(day, ends.get((unit, day), day)):
                add(unit, month, Load(hours=taken * share))
    return summed


def _on_stream(number: int, taken: Fraction | None) -> Load:
    if taken is None:
        return Load(on_stream=number, missing=number)
    return Load(on_stream=number, on_stream_hours=taken)


def shares(first: date, last: date) -> list[tuple[int, Fraction]]:
    """How much of the days from one to another, both included, lies in each month."""
    days = (last - first).days + 1
    found = []
    for month in range(month_of(first), month_of(last) + 1):
        end = min(first_day_of(month + 1), last + ONE_DAY)
        found.append((month, Fraction((end - max(first_day_of(month), first)).days, days)))
    return found


NO_LOAD = Load()
