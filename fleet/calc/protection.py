"""What protects together: places of devices, those that stand in for each other, those that share.

One place is one protection: a disc and its valve, a pilot and its main valve, or one device. Places
on a changeover stand in for each other, so they count once. Several such stands share one duty.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

from fleet.calc.units import UNITS, Quantity

Key = Any  # hashable: how whoever asks knows a position

COUNTED = ("valve", "main")  # of a disc and a valve, a pilot and a main: whose capacity counts
FIRE = "fire"
BEHIND = "{} stands behind a disc; whether its rated capacity allows for that is not recorded"


@dataclass(frozen=True)
class Member:
    """One position with what is fitted there.

    rated, required: None = not given. absent: why it protects nothing now, "" where it stands.
    make: model and orifice, None unless both are known. is_idle: stands by; on a changeover it can
    take over, elsewhere it counts for nothing.
    """

    position: Key
    tag: str
    rated: Quantity | None = None
    required: Quantity | None = None
    set_pressure: Quantity | None = None
    make: tuple[Key, str] | None = None
    absent: str = ""
    is_idle: bool = False


@dataclass(frozen=True)
class Joined:
    """One arrangement as it is recorded: its kind, and each position with its role."""

    name: str
    kind: str
    roles: Mapping[Key, str]


@dataclass(frozen=True)
class Place:
    """One protection. Without any one of its members it does not protect.

    note: what its rated capacity leaves open (a disc ahead of a valve takes some of it, API Std
    520-I, from memory).
    """

    members: tuple[Member, ...]
    counted: Member
    note: str = ""

    @property
    def positions(self) -> frozenset[Key]:
        return frozenset(member.position for member in self.members)

    @property
    def absent(self) -> str:
        return next((f"{m.tag}: {m.absent}" for m in self.members if m.absent), "")

    def stands(self, out: frozenset[Key]) -> bool:
        return not self.absent and not out & self.positions


@dataclass(frozen=True)
class Stand:
    """Places of which one protects at a time (one alone, or those on a changeover)."""

    places: tuple[Place, ...]
    role: str = ""

    @property
    def members(self) -> tuple[Member, ...]:
        return tuple(chain.from_iterable(place.members for place in self.places))

    def left(self, out: frozenset[Key]) -> list[Place]:
        """Those that protect, or can take over, with these positions out."""
        left = [place for place in self.places if place.stands(out)]
        alone = len(self.places) == 1
        return [p for p in left if not (alone and any(m.is_idle for m in p.members))]


@dataclass(frozen=True)
class Duty:
    """Everything that does one duty together."""

    name: str
    stands: tuple[Stand, ...]

    @property
    def members(self) -> tuple[Member, ...]:
        return tuple(chain.from_iterable(stand.members for stand in self.stands))


def duties(members: Iterable[Member], arrangements: Sequence[Joined]) -> list[Duty]:
    """Every member once, in the duty it takes part in; arrangements may stand within each other:
    a disc and valve on a changeover, changeovers among several that share."""
    by_key = {member.position: member for member in members}
    places = _places(by_key, [one for one in arrangements if one.kind in ("combination", "pilot")])
    stands = _stands(places, [one for one in arrangements if one.kind == "changeover"])
    return _duties(stands, [one for one in arrangements if one.kind == "multiple"])


def _places(by_key: Mapping[Key, Member], joined: Sequence[Joined]) -> list[Place]:
    roles = _roles(joined)
    found = []
    for group in _grouped([(key,) for key in by_key], joined):
        inside = tuple(by_key[key] for (key,) in group)
        counted = next((m for m in inside if roles.get(m.position) in COUNTED), inside[0])
        is_behind = roles.get(counted.position) == "valve"
        found.append(Place(inside, counted, BEHIND.format(counted.tag) if is_behind else ""))
    return found


def _stands(places: Sequence[Place], joined: Sequence[Joined]) -> list[Stand]:
    of_first = {_first(place): place for place in places}
    parts = [tuple(member.position for member in place.members) for place in places]
    return [Stand(tuple(of_first[p[0]] for p in group)) for group in _grouped(parts, joined)]


def _duties(stands: Sequence[Stand], joined: Sequence[Joined]) -> list[Duty]:
    roles = _roles(joined)
    names = {key: one.name for one in joined for key in one.roles}
    of_first = {_first(stand): stand for stand in stands}
    parts = [tuple(member.position for member in stand.members) for stand in stands]
    found = []
    for group in _grouped(parts, joined):
        inside = tuple(
            Stand(of_first[part[0]].places, next((roles[k] for k in part if k in roles), ""))
            for part in group
        )
        tags = ", ".join(member.tag for stand in inside for member in stand.members)
        name = next((names[key] for part in group for key in part if key in names), tags)
        found.append(Duty(name, inside))
    return found


def _roles(joined: Iterable[Joined]) -> dict[Key, str]:
    return {key: role for one in joined for key, role in one.roles.items()}


def _first(of: Place | Stand) -> Key:
    return of.members[0].position


Part = tuple[Key, ...]


def _grouped(parts: Sequence[Part], joined: Sequence[Joined]) -> list[list[Part]]:
    """The parts, those that an arrangement joins together; in their order."""
    group_of = {key: [number] for number, part in enumerate(parts) for key in part}
    for one in joined:
        touched = [group_of[key] for key in one.roles if key in group_of]
        together = sorted({number for group in touched for number in group})
        for number in together:
            group_of |= dict.fromkeys(parts[number], together)
    found = {min(group_of[part[0]]): group_of[part[0]] for part in parts}
    return [[parts[number] for number in found[first]] for first in sorted(found)]


def are_comparable(quantities: Iterable[Quantity]) -> bool:
    """Whether all are counted in one kind of unit: mass flow, gas flow and liquid flow are never
    added or compared, and neither are standard and normal gas volumes."""
    return len({UNITS[one.unit].kind for one in quantities}) <= 1
