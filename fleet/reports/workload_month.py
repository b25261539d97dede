"""What one month of the workload ahead consists of, visit by visit."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fleet.calc.loads import hours_of, month_of, shares
from fleet.calc.workload import Visit
from fleet.models import Unit
from fleet.reports.chances import ON_STREAM, Chance
from fleet.reports.workload import Workload, round_hours
from fleet.reports.workload_facts import Known

COLUMNS = (
    *("unit", "tag", "activities", "on", "due_on", "visit", "outage", "because"),
    *("hours", "hours_in_month", "jobs_without_hours"),
)
LIGHT = frozenset(ON_STREAM)


@dataclass(frozen=True)
class MonthRow:
    """One visit. hours: all that anybody has given; in_month: the part that falls in this month.

    outage: its key and name, where it is done in one. missing: jobs nobody gave hours for.
    """

    position: int
    tag: str
    unit: str
    activities: tuple[str, ...]
    on: date
    due_on: date | None
    turn: int
    outage: tuple[int, str] | None
    because: str
    hours: Decimal
    in_month: Decimal
    missing: int

    @property
    def turn_words(self) -> str:
        return "the next visit" if self.turn == 1 else f"{self.turn - 1} after the next, projected"

    @property
    def hours_words(self) -> str:
        """`4 h`, `3 h of 4 h`, `4 h, 1 not given`."""
        said = f"{self.in_month.normalize():f} h"
        if self.in_month != self.hours:
            said += f" of {self.hours.normalize():f} h"
        if not self.missing:
            return said
        return f"{said}, {self.missing} not given" if self.hours else "not given"

    def as_dict(self) -> dict[str, Any]:
        said = {
            "activities": list(self.activities),
            "visit": self.turn,
            "outage": self.outage and self.outage[1],
            "hours_in_month": self.in_month,
            "jobs_without_hours": self.missing,
        }
        return {name: said[name] if name in said else getattr(self, name) for name in COLUMNS}


SORTS: Mapping[str, Callable[[MonthRow], Any]] = {
    "on": lambda row: (row.on, row.tag),
    "tag": lambda row: row.tag,
    "due_on": lambda row: row.due_on and (row.due_on, row.tag),
    "hours": lambda row: (row.in_month, row.tag),
}


def month_rows(work: Workload, month: int) -> list[MonthRow]:
    """Every visit with work in the month, of the unit or site that is asked for. One query more."""
    units = {unit.pk: unit.name for unit in Unit.objects.all()}
    found = [
        _row(visit, month, work.known, units[visit.place.unit])
        for visit in work.visits()
        if (work.unit is None or visit.place.unit == work.unit) and _touches(visit, month, work)
    ]
    return sorted(found, key=lambda row: (row.on, row.tag, row.activities))


def _touches(visit: Visit, month: int, work: Workload) -> bool:
    begins = month_of(visit.on)
    ends_on = work.known.ends.get((visit.place.unit, visit.on), visit.on)
    is_light = LIGHT.issuperset(visit.activities)
    return begins == month or (not is_light and begins < month <= month_of(ends_on))


def _row(visit: Visit, month: int, known: Known, unit: str) -> MonthRow:
    place = visit.place
    each = {a: hours_of(a, place.kind, known.hours) for a in visit.activities}
    ends_on = known.ends.get((place.unit, visit.on), visit.on)
    spread = dict(shares(visit.on, ends_on)).get(month, Fraction())
    here = Fraction()
    for activity, hours in each.items():
        if activity not in LIGHT:
            here += Fraction(hours or 0) * spread
        elif month_of(visit.on) == month:
            here += Fraction(hours or 0)
    chance = _outage(visit, known)
    return MonthRow(
        position=place.key,
        tag=known.tags[place.key],
        unit=unit,
        activities=visit.activities,
        on=visit.on,
        due_on=visit.due_on,
        turn=visit.turn,
        outage=(chance.pk, chance.name) if chance else None,
        because=_because(visit, known, chance),
        hours=sum((hours for hours in each.values() if hours), Decimal()),
        in_month=round_hours(here),
        missing=sum(hours is None for hours in each.values()),
    )


def _outage(visit: Visit, known: Known) -> Chance | None:
    """The outage whose days hold it; work on stream waits for none."""
    if LIGHT.issuperset(visit.activities):
        return None
    chances: Iterator[Chance] = iter(known.chances.of(visit.place.unit))
    return next((c for c in chances if c.starts_on <= visit.on <= c.ends_on), None)


def _because(visit: Visit, known: Known, chance: Chance | None) -> str:
    if chance:
        return "in the outage"
    if visit.due_on is None or visit.due_on < known.as_of:
        return "owed already, and no outage takes it"
    if visit.on == visit.due_on:
        is_light = LIGHT.issuperset(visit.activities)
        return "on its due date, on stream" if is_light else "on its due date: no outage is known"
    return "where the accepted plan has it"
