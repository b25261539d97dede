"""How much work each month brings: visits, and the bench hours they take as far as anybody said."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from fleet.calc.workload import Visit

Hours = Mapping[tuple[str, str], Decimal]  # by activity and kind of device, "" for any kind


def month_of(day: date) -> int:
    """Months since year 0: one number a month, in order."""
    return day.year * 12 + day.month - 1


def first_day_of(month: int) -> date:
    return date(month // 12, month % 12 + 1, 1)


@dataclass(frozen=True)
class Load:
    """The work of a month. visits: with bench work; missing: jobs nobody gave hours for, which
    are not in `hours`; on_stream: jobs that need neither an outage nor the bench.
    """

    visits: int = 0
    hours: Decimal = Decimal()
    missing: int = 0
    on_stream: int = 0

    def plus(self, other: "Load") -> "Load":
        return Load(
            self.visits + other.visits,
            self.hours + other.hours,
            self.missing + other.missing,
            self.on_stream + other.on_stream,
        )


def hours_of(activity: str, kind: str, hours: Hours) -> Decimal | None:
    """Those of the kind, else those of any kind, else nobody has said."""
    return hours.get((activity, kind), hours.get((activity, "")))


def loads(
    found: Iterable[Visit], hours: Hours, on_stream: Iterable[str]
) -> dict[tuple[int, int], Load]:
    """Each unit's load of each month that has any, by (unit, month)."""
    light = frozenset(on_stream)
    jobs: Counter[tuple[int, int, str, str]] = Counter()
    benched: Counter[tuple[int, int]] = Counter()
    for visit in found:
        place, month = visit.place, month_of(visit.on)
        for activity in visit.activities:
            jobs[place.unit, month, activity, place.kind] += 1
        benched[place.unit, month] += not light.issuperset(visit.activities)
    summed = {key: Load(visits=number) for key, number in benched.items()}
    for (unit, month, activity, kind), number in jobs.items():
        each = hours_of(activity, kind, hours)
        if activity in light:
            load = Load(on_stream=number)
        else:
            load = Load(missing=number) if each is None else Load(hours=each * number)
        summed[unit, month] = summed[unit, month].plus(load)
    return summed
