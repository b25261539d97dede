"""Work while the unit runs: which positions may be offered it, and the weeks of the bench.

Offered is not allowed: a plan only says when there would be room. Whoever isolates a device follows
the site's own procedure and the local code.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Protocol

from fleet.calc.outages import Room, Slot
from fleet.models import ArrangementMember, Outage, Site

ISOLATED = ("changeover", "block_with_spare")


class Served(Protocol):
    """A position's service, as far as it is asked for here."""

    @property
    def isolation(self) -> str: ...


@dataclass(frozen=True)
class Shared:
    """Positions that protect one thing together: in one week only one of them may be out."""

    positions: frozenset[int]

    def rooms(self, visits: Mapping[int, Sequence], weeks: Iterable) -> Iterator[Room]:
        here = [key for position in self.positions for key in visits.get(position, ())]
        if len(here) > 1:
            amounts = dict.fromkeys(sorted(here), Fraction(1))
            yield from (Room(week, amounts, Fraction(1)) for week in weeks)


@dataclass(frozen=True)
class OnStream:
    """Whether weeks without an outage are offered to a position, and why or why not."""

    is_offered: bool
    words: str
    shared: Shared | None = None


def on_stream_of(
    positions: Iterable[int], services: Mapping[int, Served], day: date
) -> dict[int, OnStream]:
    """Of the positions that can be isolated; the others are offered nothing. One query."""
    isolated = [pk for pk in positions if pk in services and services[pk].isolation in ISOLATED]
    together = _together(isolated)
    return {pk: OnStream(True, _words(services[pk]), together.get(pk)) for pk in isolated}


def _together(positions: Sequence[int]) -> dict[int, Shared]:
    rows = ArrangementMember.objects.filter(position__in=positions).order_by("arrangement")
    arranged: dict[int, set[int]] = {}
    for arrangement, position in rows.values_list("arrangement", "position"):
        arranged.setdefault(arrangement, set()).add(position)
    return {
        position: shared
        for members in arranged.values()
        if len(members) > 1
        for shared in [Shared(frozenset(members))]
        for position in members
    }


def _words(served: Served) -> str:
    return "changeover" if served.isolation == "changeover" else "block valve with spare"


def weeks_of(site: Site, from_on: date, to_on: date, outages: Iterable[Outage]) -> list[Slot]:
    """The weeks of a horizon in which the shop is not taken by an outage. The first may begin
    on the day that is planned from; the others begin on a Monday."""
    taken = [(outage.starts_on, outage.ends_on) for outage in outages if outage.bench_hours]
    weeks, day = [], from_on
    while day <= to_on:
        monday_after = day + timedelta(days=7 - day.weekday())
        if not any(start < monday_after and day <= end for start, end in taken):
            weeks.append(Slot(day, day, site.weekly_bench_hours, is_online=True))
        day = monday_after
    return weeks
