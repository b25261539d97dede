"""What may be out of a duty in one week, as linear rows: the sum of the amounts out <= room.

Every set of positions that keeps all rows of its duty is covered (see `coverage`). The rows are a
little stricter than that: two positions of one place out together count twice, and a position that
a duty does not cover when it is out by itself has no room at all.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.coverage import COVERED, cases, coverage, required_readings, smallest
from fleet.calc.protection import Duty, Key, Stand
from fleet.calc.units import UNITS, Quantity


@dataclass(frozen=True)
class Room:
    """One row. Amounts and room are exact, in the base unit of one kind of flow; where one at a
    time may be out they are 1."""

    name: str
    amounts: Mapping[Key, Fraction]
    room: Fraction


def rooms(duty: Duty) -> list[Room]:
    """The rows of a duty; every position is in at least one unless it takes from nothing."""
    keys = [member.position for member in duty.members]
    barred = [key for key in keys if coverage(duty, [key]).kind != COVERED]
    found = [Room(duty.name, dict.fromkeys(barred, Fraction(1)), Fraction(0))] if barred else []
    found += [_one_at_a_time(stand) for stand in duty.stands if len(stand.places) > 1]
    if len(barred) < len(keys) and len(duty.stands) > 1:
        found += [_shared(duty.name, stands) for stands in cases(duty)]
    return found


def _one_at_a_time(stand: Stand) -> Room:
    tags = " / ".join(place.counted.tag for place in stand.places)
    keys = [member.position for member in stand.members]
    return Room(f"changeover {tags}", dict.fromkeys(keys, Fraction(1)), Fraction(1))


def _shared(name: str, stands: tuple[Stand, ...]) -> Room:
    """What stands together less what is required. Who is on a changeover takes nothing from it:
    the smallest of them is counted, and one at a time is out."""
    needs = required_readings(stands)
    amounts: dict[Key, Fraction] = {}
    held = Fraction(0)
    for stand in stands:
        amount = _amount(smallest(left)) if (left := stand.left(frozenset())) else Fraction(0)
        held += amount
        if len(stand.places) == 1:
            amounts |= {member.position: amount for member in stand.members}
    return Room(name, amounts, held - (_amount(needs[-1]) if needs else held))


def _amount(rated: Quantity | None) -> Fraction:
    """In the base unit of its kind; what is not known counts for nothing."""
    return Fraction(0) if rated is None else rated.magnitude * UNITS[rated.unit].factor
