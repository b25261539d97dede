"""Which readings of a device tell of which of its stays: devices move, records do not say where.

The installation decides, never the tag typed on a sheet. What a device read while it stood in a
position is of that stay. On the bench, what it was found at tells of the stay it came out of, and
what it was left at of the stay it goes into next. Handled again meanwhile, only the first record
still tells how it came out, and only the last how it went in.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from fleet.calc.duedates import Spell
from inspections.calc.visits import Overhaul

AS_FOUND, AS_LEFT = "as_found", "as_left"
IN_PLACE = "in_place"  # how the methods begin that leave the device where it stands


@dataclass(frozen=True)
class Belonging:
    """One visit, the stay it tells the end of and the stay it tells the beginning of.

    The same one, where the device stood there throughout. None: it was never fitted before or
    since, or another record tells of it.
    """

    visit: Overhaul
    found_of: Spell | None
    left_of: Spell | None

    def within(self, stays: Collection[Spell]) -> Overhaul | None:
        """The visit with nothing but what tells of these stays; None where nothing does."""
        is_found, is_left = self.found_of in stays, self.left_of in stays
        if is_found and is_left:
            return self.visit
        if is_found:
            return replace(self.visit, as_left=None, elsewhere=AS_LEFT)
        if is_left:
            return replace(self.visit, as_found=None, later_pops=(), elsewhere=AS_FOUND)
        return None


def belongings(visits: Sequence[Overhaul], spells: Sequence[Spell]) -> list[Belonging]:
    """The visits of one device, oldest first, each with its stays; both may come in any order."""
    visits = sorted(visits, key=lambda visit: (visit.on, visit.ref))
    spells = sorted(spells, key=lambda spell: spell.installed_on)
    stood = [_stood_in(visit, spells) for visit in visits]
    shop = [visit for visit, spell in zip(visits, stood, strict=True) if spell is None]
    return [
        Belonging(
            visit,
            spell or _came_out_of(visit, shop, spells),
            spell or _goes_into(visit, shop, spells),
        )
        for visit, spell in zip(visits, stood, strict=True)
    ]


def _stood_in(visit: Overhaul, spells: Sequence[Spell]) -> Spell | None:
    """Where it stood before and after. On the day of a move only work in place says so."""
    in_place = visit.method.startswith(IN_PLACE)
    for spell in reversed(spells):
        went_in, came_out = spell.installed_on, spell.removed_on
        if went_in < visit.on and (came_out is None or visit.on < came_out):
            return spell
        if in_place and went_in <= visit.on and (came_out is None or visit.on <= came_out):
            return spell
    return None


def _came_out_of(
    visit: Overhaul, shop: Sequence[Overhaul], spells: Sequence[Spell]
) -> Spell | None:
    """The stay that ended last before this visit, if no record was made since."""
    ended = [(s.removed_on, s) for s in spells if s.removed_on and s.removed_on <= visit.on]
    if not ended:
        return None
    came_out, spell = ended[-1]
    first = next(other for other in shop if came_out <= other.on)
    return spell if first is visit else None


def _goes_into(visit: Overhaul, shop: Sequence[Overhaul], spells: Sequence[Spell]) -> Spell | None:
    """The stay that began first after this visit, if no record was made before it did."""
    begun = [spell for spell in spells if spell.installed_on >= visit.on]
    if not begun:
        return None
    last = next(other for other in reversed(shop) if other.on <= begun[0].installed_on)
    return begun[0] if last is visit else None
