"""Which spare to take along for which visit: each serves one, as many are served as can be.

A spare that fits is one for which the check at fitting finds nothing and whose test is in date on
the day of the visit. It is only picked: who fits it checks it again.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from fleet.calc.spares import shared_out
from fleet.reports.chances import NEEDS_OUTAGE
from fleet.reports.in_place import in_place
from fleet.reports.spares import Shelf, Spare, shelf_for
from inspections.reports.visits import Visit

COLUMNS = ("tag", "work", "planned_on", "fitted", "spare", "serial", "valid_until", "why_none")
TAKEN = "those that fit are picked for other visits"


@dataclass(frozen=True)
class Pick:
    """A visit and its spare. why_none: why nothing on the shelf is picked for it; "" with one."""

    visit: Visit
    spare: Spare | None
    why_none: str

    def as_dict(self) -> dict[str, Any]:
        visit, device = self.visit, self.spare.device if self.spare else None
        return {
            "tag": visit.position.tag,
            "work": visit.main,
            "planned_on": visit.planned_on,
            "fitted": visit.device.number if visit.device else "",
            "spare": device.number if device else "",
            "serial": device.serial if device else "",
            "valid_until": self.spare.valid_until if self.spare else None,
            "why_none": self.why_none,
        }


@dataclass(frozen=True)
class PickList:
    picks: Sequence[Pick]

    @property
    def picked(self) -> int:
        return len(self._by_visit)

    @cached_property
    def _by_visit(self) -> dict[tuple[int, date], str]:
        return {_key(p.visit): p.spare.device.number for p in self.picks if p.spare}

    def spare_for(self, visit: Visit) -> str:
        """The number of the spare picked for a visit, or nothing."""
        return self._by_visit.get(_key(visit), "")

    def as_dicts(self) -> Iterator[dict[str, Any]]:
        for pick in self.picks:
            yield pick.as_dict()


def picks_of(visits: Sequence[Visit]) -> PickList:
    """For the visits that still take a device out, earliest first. About twenty queries."""
    asking = [v for v in visits if v.main in NEEDS_OUTAGE and v.done_on is None]
    if not asking:
        return PickList(())
    shelves = _shelves(asking)
    found = {_key(v): shelves[v.planned_on].fitting(v.position.pk) for v in asking}
    wanted = {key: [spare.device.pk for spare in spares] for key, spares in found.items()}
    served = shared_out(wanted)
    return PickList([_pick(v, found[_key(v)], served, shelves[v.planned_on]) for v in asking])


def _key(visit: Visit) -> tuple[int, date]:
    return visit.position.pk, visit.planned_on


def _shelves(visits: Sequence[Visit]) -> dict[date, Shelf]:
    """The shelf as it would be on each day, read once."""
    days = sorted({visit.planned_on for visit in visits})
    places = in_place({visit.position.pk for visit in visits}, days[0])
    shelf = shelf_for(places, days[0])
    return {day: replace(shelf, day=day) for day in days}


def _pick(
    visit: Visit,
    spares: Sequence[Spare],
    served: Mapping[tuple[int, date], int],
    shelf: Shelf,
) -> Pick:
    mine = served.get(_key(visit))
    spare = next((one for one in spares if one.device.pk == mine), None)
    if spare is not None:
        return Pick(visit, spare, "")
    return Pick(visit, None, TAKEN if spares else shelf.why_none(visit.position.pk))
