"""Work while the unit runs, as a plan takes it: who is offered weeks, what they share, the weeks.

Offered is not allowed: a plan only says when there would be room. Whoever isolates a device follows
the site's own procedure and the local code.
"""

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Protocol

from fleet.calc import rooms
from fleet.calc.outages import Room, Slot
from fleet.models import Outage, Position, PositionDuty, Site
from fleet.reports.on_stream import Offer, on_stream_at

ISOLATION = PositionDuty.Isolation
NAMES = {ISOLATION.CHANGEOVER: "changeover", ISOLATION.BLOCK_WITH_SPARE: "block valve with spare"}


class Served(Protocol):
    """A position's service, as far as it is asked for here."""

    @property
    def isolation(self) -> str: ...


@dataclass(frozen=True)
class Held:
    """Whether weeks without an outage are offered to a position, and why or why not."""

    is_offered: bool
    words: str


@dataclass(frozen=True)
class OnStream:
    """held: of every position that can be isolated. shared: what those offered share in a week, by
    position."""

    held: Mapping[int, Held]
    shared: Sequence[rooms.Room]

    def offers(self, position: int) -> bool:
        return position in self.held and self.held[position].is_offered

    def rooms(
        self, visits: Iterable[tuple[int, int]], weeks: Collection[Hashable]
    ) -> Iterator[Room]:
        """The same for the visits of a plan, week by week. visits: (position, obligation).

        What one position owes by itself shares a week freely: its device is out once for all of it.
        """
        at: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for key in visits:
            at[key[0]].append(key)
        for room in self.shared:
            amounts = {key: a for pk, a in room.amounts.items() for key in at[pk]}
            if len({position for position, _ in amounts}) > 1:
                yield from (Room(week, amounts, room.room) for week in weeks)


NOTHING = OnStream({}, ())


def on_stream_of(positions: Iterable[int], services: Mapping[int, Served], day: date) -> OnStream:
    """Of the positions that can be isolated; about thirty queries, none where there are none.

    A changeover of which only figures are missing is offered weeks with that said: its owner has
    recorded that another device can take over, and one of such a pair is out at a time. Where no
    arrangement names the pair, both stand in one unit: there one of those is out at a time.
    """
    isolated = [pk for pk in positions if pk in services and services[pk].isolation in NAMES]
    if not isolated:
        return NOTHING
    found = on_stream_at(isolated, day)
    held = {pk: _held(offer, services[pk].isolation) for pk, offer in found.offers.items()}
    return OnStream(held, [*found.rooms, *_one_at_a_time(found.offers, held)])


def _held(offer: Offer, isolation: str) -> Held:
    said = "; ".join((offer.words, *offer.warnings))
    name = NAMES[ISOLATION(isolation)]
    if offer.is_offered:
        return Held(True, f"{name}; {said}")
    if offer.is_unknown and isolation == ISOLATION.CHANGEOVER:
        return Held(True, f"{name}; check first: {said}")
    return Held(False, said)


def _one_at_a_time(offers: Mapping[int, Offer], held: Mapping[int, Held]) -> Iterator[rooms.Room]:
    """Those offered on trust, by unit and by what is lacking: of a pair both lack the same."""
    trusted = [pk for pk, offer in offers.items() if held[pk].is_offered and not offer.is_offered]
    units = dict(Position.objects.filter(pk__in=trusted).values_list("pk", "unit"))
    lacking: dict[tuple[int, str], list[int]] = defaultdict(list)
    for pk in trusted:
        lacking[units[pk], offers[pk].words].append(pk)
    for (_, words), positions in lacking.items():
        if len(positions) > 1:
            yield rooms.Room(words, dict.fromkeys(positions, Fraction(1)), Fraction(1))


def weeks_of(site: Site, from_on: date, to_on: date, outages: Iterable[Outage]) -> list[Slot]:
    """The weeks of a horizon in which the shop is not taken by an outage. The first may begin
    on the day that is planned from; the others begin on a Monday."""
    taken = [(outage.starts_on, outage.ends_on) for outage in outages if _takes_the_shop(outage)]
    if site.weekly_bench_hours == 0:
        return []
    weeks, day = [], from_on
    while day <= to_on:
        monday_after = day + timedelta(days=7 - day.weekday())
        if not any(start < monday_after and day <= end for start, end in taken):
            weeks.append(Slot(day, day, site.weekly_bench_hours, is_online=True))
        day = monday_after
    return weeks


def _takes_the_shop(outage: Outage) -> bool:
    """It offers the shop's hours: in all, or by the week."""
    return outage.bench_hours != 0 and bool(outage.bench_hours or outage.weekly_hours)
