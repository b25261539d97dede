"""Which positions may be offered a week while their unit runs, and what that rests on.

Offered is not allowed: a plan says when there would be room; whoever isolates a device follows the
site's own procedure and the local code. The rule, on purpose a careful one:

- Only a recorded changeover, or block valve with spare, is offered anything.
- What stays in service must cover the duty (`fleet.calc.coverage`). Unknown capacity is not offered
  here, and the reason names what is missing. (In an outage the equipment is down: there it warns.
  A plan also shows weeks to a changeover of which only figures are missing, with the warning.)
- A block valve with spare that shares its duty with nobody leaves nothing while its device is out.
  It is offered only while a spare on the shelf fits (`fleet.reports.spares`) and is rated for the
  required capacity; where none is required, for no less than the device it stands in for. Between
  the two devices nothing protects: that is said with it.
- What stays but is itself past its date, or has no record, is a warning.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Q

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.coverage import (
    COVERED,
    NOT_COMPARABLE,
    SHORT,
    UNKNOWN,
    Coverage,
    coverage,
    required_readings,
    stands_in,
)
from fleet.calc.protection import Duty, Member, Stand, are_comparable
from fleet.calc.rooms import Room, rooms
from fleet.models import DueLine, PositionDuty, SpanState
from fleet.reports.coverage import Protection, protection_of
from fleet.reports.spares import Shelf, Spare, shelf_for

CHANGEOVER, WITH_SPARE = PositionDuty.Isolation.CHANGEOVER, PositionDuty.Isolation.BLOCK_WITH_SPARE
ISOLATED = (CHANGEOVER, WITH_SPARE)
EXCHANGE = "between taking one device out and fitting the other nothing protects here"


@dataclass(frozen=True)
class Offer:
    """One position. spares: the devices that would stand in, where it is offered because of them;
    then it takes one of them, and nothing from a room of its duty. is_unknown: not offered because
    something is not recorded, rather than because it falls short."""

    is_offered: bool
    words: str
    warnings: tuple[str, ...] = ()
    spares: tuple[int, ...] = ()
    is_unknown: bool = False


@dataclass(frozen=True)
class OnStream:
    """offers: of every position that can be isolated. rooms: what those offered share in any one
    week, by position; where something is not known, one of a duty at a time and no more."""

    offers: Mapping[int, Offer]
    rooms: Sequence[Room]


def on_stream_at(positions: Collection[int], day: date) -> OnStream:
    """At most thirty queries, whatever the number of positions."""
    protection = protection_of(positions, day)
    isolated = [pk for pk in sorted(positions) if _isolation(protection, pk) in ISOLATED]
    answers = {pk: protection.without(pk) for pk in isolated}
    offers = {
        pk: Offer(True, answer.words, answer.warnings)
        for pk, answer in answers.items()
        if answer.kind == COVERED
    }
    shelved = [pk for pk in isolated if pk not in offers and _takes_a_spare(protection, pk)]
    shelf = shelf_for({pk: protection.places[pk] for pk in shelved}, day) if shelved else None
    for pk in isolated:
        if pk not in offers:
            by_spare = _by_spare(protection, shelf, pk) if shelf and pk in shelved else None
            offers[pk] = by_spare or _not_offered(protection, pk, answers[pk])
    shared = [*_shared(offers, protection), *_on_trust(offers, protection), *_pools(offers)]
    return OnStream(_with_late(offers, protection), shared)


def _isolation(protection: Protection, position: int) -> str:
    place = protection.places.get(position)
    return place.duty.isolation if place and place.duty else ""


def _stand(duty: Duty, position: int) -> Stand:
    return next(s for s in duty.stands if any(m.position == position for m in s.members))


def _takes_a_spare(protection: Protection, position: int) -> bool:
    alone = len(_stand(protection.duties[position], position).places) == 1
    return alone and _isolation(protection, position) == WITH_SPARE


def _not_offered(protection: Protection, position: int, left: Coverage) -> Offer:
    duty, words = protection.duties[position], left.words
    is_unnamed = len(_stand(duty, position).places) == 1
    is_unnamed &= _isolation(protection, position) == CHANGEOVER
    if is_unnamed:
        words = f"no arrangement names what takes over on its changeover; {words}"
    is_alone = is_unnamed and len(duty.members) == 1
    return Offer(False, words, is_unknown=is_alone or left.kind == UNKNOWN)


def _by_spare(protection: Protection, shelf: Shelf, position: int) -> Offer:
    duty = protection.duties[position]
    fitting = shelf.fitting(position)
    if not fitting:
        words = f"{_left_words(duty, position)}, and no spare stands in: {shelf.why_none(position)}"
        return Offer(False, words)
    judged = [(spare, *_suits(spare, duty, position)) for spare in fitting]
    suited = [(spare, words) for spare, kind, words in judged if kind == COVERED]
    if not suited:
        return Offer(
            False, f"{_left_words(duty, position)}, and no spare stands in: {judged[0][2]}"
        )
    keys = tuple(sorted(spare.device.pk for spare, _ in suited))
    return Offer(True, f"a spare stands in: {suited[0][1]}", (EXCHANGE,), keys)


def _left_words(duty: Duty, position: int) -> str:
    return coverage(duty, [position]).words


def _suits(spare: Spare, duty: Duty, position: int) -> tuple[str, str]:
    """Whether a spare that fits is rated for what the position's device must pass: the kind of
    answer, and why."""
    stand = _stand(duty, position)
    mine = _as_member(spare, position)
    other = next(m for m in stand.members if m.position == position)
    is_counted = stand.places[0].counted.position == position
    needs = required_readings([stand]) if is_counted else ()
    if needs is None:
        return NOT_COMPARABLE, "what is required of it cannot be compared"
    if len(duty.stands) > 1 and (whole := coverage(duty, [])).kind != COVERED:
        return whole.kind, f"with everything in service, {whole.words}"
    if len(duty.stands) > 1 or not needs:
        return stands_in(mine, other)
    if mine.rated is None:
        return UNKNOWN, f"the rated capacity of {mine.tag} is not given"
    if not are_comparable([mine.rated, needs[-1]]):
        return NOT_COMPARABLE, f"{mine.rated} of {mine.tag} cannot be compared with {needs[-1]}"
    if mine.rated < needs[-1]:
        return SHORT, f"{mine.tag} is rated for {mine.rated}, less than the required {needs[-1]}"
    return COVERED, f"{mine.tag}, rated for {mine.rated}, at least the required {needs[-1]}"


def _as_member(spare: Spare, position: int) -> Member:
    device = spare.device
    make = (device.model_id, device.orifice) if device.model_id and device.orifice else None
    return Member(position, str(device), device.rated_capacity, make=make)


def _shared(offers: Mapping[int, Offer], protection: Protection) -> list[Room]:
    """The rows of each duty, for those that are offered by what stays in service."""
    offered = {pk for pk, offer in offers.items() if offer.is_offered and not offer.spares}
    found = []
    for duty in {id(d): d for pk in sorted(offered) for d in [protection.duties[pk]]}.values():
        for room in rooms(duty):
            amounts = {pk: a for pk, a in room.amounts.items() if pk in offered and a}
            if sum(amounts.values()) > room.room:
                found.append(Room(room.name, amounts, room.room))
    return found


def _on_trust(offers: Mapping[int, Offer], protection: Protection) -> list[Room]:
    """Whoever offers what is not known to fall short still keeps to one of its duty at a time."""
    trusted = sorted(pk for pk, offer in offers.items() if offer.is_unknown)
    found = []
    for duty in {id(d): d for pk in trusted for d in [protection.duties[pk]]}.values():
        around = sorted(m.position for m in duty.members if m.position in offers)
        here = [pk for pk in around if offers[pk].is_offered or offers[pk].is_unknown]
        if len(here) > 1:
            found.append(Room(duty.name, dict.fromkeys(here, Fraction(1)), Fraction(1)))
    return found


def _pools(offers: Mapping[int, Offer]) -> list[Room]:
    """Of the positions that draw on one pool of spares, as many in a week as it holds."""
    pools = sorted({offer.spares for offer in offers.values() if offer.spares})
    found = []
    for pool in pools:
        drawing = [pk for pk, o in offers.items() if o.spares and set(o.spares) <= set(pool)]
        if len(drawing) > len(pool):
            amounts = dict.fromkeys(sorted(drawing), Fraction(1))
            found.append(Room("spares on the shelf", amounts, Fraction(len(pool))))
    return found


def _with_late(offers: Mapping[int, Offer], protection: Protection) -> dict[int, Offer]:
    """A warning for each device that would stay and is itself past its date or has no record."""
    offered = [pk for pk, offer in offers.items() if offer.is_offered]
    around = {m.position for pk in offered for m in protection.duties[pk].members}
    late = _late(around, protection.day)
    found = dict(offers)
    for pk in offered:
        others = [m for m in protection.duties[pk].members if m.position != pk and not m.absent]
        words = tuple(w for m in others for w in late.get(m.position, ()))
        offer = offers[pk]
        found[pk] = Offer(True, offer.words, offer.warnings + words, offer.spares)
    return found


def _late(positions: Collection[int], day: date) -> dict[int, list[str]]:
    rows = DueLine.objects.filter(position__in=positions).exclude(activity__in=EARNED_IN_PLACE)
    rows = rows.filter(Q(state=SpanState.NO_RECORD) | Q(state=SpanState.DATED, due_on__lt=day))
    found: dict[int, list[str]] = defaultdict(list)
    for pk, tag, activity, due_on in rows.order_by("tag", "activity", "pk").values_list(
        "position", "tag", "activity", "due_on"
    ):
        what = activity.replace("_", " ")
        said = f"is past its date, {due_on}" if due_on else "has no record"
        found[pk].append(f"{tag} stays in service, but its {what} {said}")
    return found
