"""Relieving capacity left when devices are out, against what the duty requires.

What stays in service must be rated for at least the required capacity, and that is asked again
whenever a device is out: 49 CFR 192.743 is a public model of the rule, the sum at the code's
accumulation is that of API Std 520-I (from memory). Capacities are taken as they were typed.

- Devices on a changeover count once, by the smallest of those that can take over.
- A fire-case device opens above what other cases may reach: it counts in the case of fire alone.
- A capacity required at several positions that share a duty may be the whole or a share of it.
  One that its own device cannot pass is the whole, and the largest governs; otherwise only what
  holds both ways is answered, because half the need must not pass for all of it.
- Without a required capacity, one device stands in for another only where it is rated for no less,
  or where neither rating is given and model, orifice and set pressure are the same.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleet.calc.protection import FIRE, Duty, Key, Member, Place, Stand, are_comparable
from fleet.calc.units import Quantity

COVERED, SHORT, UNKNOWN, NOT_COMPARABLE = "covered", "short", "unknown", "not_comparable"
CAUTION = (
    "This is arithmetic on rated capacities as they are recorded. Whether the work may be done is"
    " for your procedure, the local code and a qualified person to decide."
)
_WORST = (SHORT, NOT_COMPARABLE, UNKNOWN, COVERED)


@dataclass(frozen=True)
class Coverage:
    """kind: one of the four above. left, required: None where not known or not to be added up.
    warnings: what a covered duty rests on beside the numbers."""

    kind: str
    words: str
    left: Quantity | None = None
    required: Quantity | None = None
    warnings: tuple[str, ...] = ()


def coverage(duty: Duty, out: Iterable[Key]) -> Coverage:
    """What is left of a duty with these positions out; the worst of its cases answers."""
    gone = frozenset(out)
    answers = [_case(stands, gone) for stands in cases(duty)]
    return min(answers, key=lambda answer: _WORST.index(answer.kind))


def cases(duty: Duty) -> list[tuple[Stand, ...]]:
    """Who counts in each case: in a fire all of them, else those that are not for fire alone."""
    others = tuple(stand for stand in duty.stands if stand.role != FIRE)
    return [duty.stands] if others in ((), duty.stands) else [others, duty.stands]


def _case(stands: Sequence[Stand], out: frozenset[Key]) -> Coverage:
    staying = [(stand, stand.left(out)) for stand in stands]
    standing = [(stand, left) for stand, left in staying if left]
    if not standing:
        return Coverage(SHORT, _nothing_stays(stands, out))
    if problem := _unlike_sets(standing):
        return problem
    needs = required_readings(stands)
    if needs is None:
        return _not_comparable(given(stands))
    if not needs:
        return _unrequired(stands, standing)
    return _against(needs, standing)


def given(stands: Iterable[Stand]) -> list[Member]:
    """The members whose position gives a required capacity."""
    return [m for stand in stands for m in stand.members if m.required is not None]


def required_readings(stands: Sequence[Stand]) -> tuple[Quantity, ...] | None:
    """What is required, as it can be read: nothing where none is given, one, or two, the least
    first. None where those given cannot be compared."""
    wanted = [(stand, [m.required for m in stand.members if m.required]) for stand in stands]
    if not are_comparable(one for _, some in wanted for one in some):
        return None
    most = [(stand, max(some)) for stand, some in wanted if some]
    if not most:
        return ()
    largest = max(one for _, one in most)
    if len(most) == 1 or any(_cannot_pass(stand, one) for stand, one in most):
        return (largest,)
    return (largest, total(one for _, one in most))


def _cannot_pass(stand: Stand, required: Quantity) -> bool:
    rated = [place.counted.rated for place in stand.places]
    known = [one for one in rated if one is not None and are_comparable([one, required])]
    return len(known) == len(rated) and all(one < required for one in known)


def total(quantities: Iterable[Quantity]) -> Quantity:
    """Their sum, exact, in the unit of the first. They are comparable and at least one."""
    first, *others = quantities
    for one in others:
        first = first + one
    return first


def smallest(places: Iterable[Place]) -> Quantity | None:
    """The smallest rating among places that stand in for each other; None where one lacks."""
    rated = [place.counted.rated for place in places]
    known = [one for one in rated if one is not None]
    return min(known) if len(known) == len(rated) and are_comparable(known) else None


def _against(needs: Sequence[Quantity], standing: Sequence[tuple[Stand, list[Place]]]) -> Coverage:
    places = [place for _, left in standing for place in left]
    lacking = [place.counted.tag for place in places if place.counted.rated is None]
    if lacking:
        words = f"the rated capacity of what is fitted at {_and(lacking)} is not given"
        return Coverage(UNKNOWN, words, required=needs[0])
    rated = [place.counted.rated for place in places if place.counted.rated is not None]
    if not are_comparable([*rated, *needs]):
        return _mixed([*rated, *needs])
    left = total(one for _, some in standing if (one := smallest(some)) is not None)
    return _judged(left, needs, places)


def _judged(left: Quantity, needs: Sequence[Quantity], places: Sequence[Place]) -> Coverage:
    tags = _and(place.counted.tag for place in places)
    what = f"the rated capacity of what stays in service ({tags}), {left},"
    least, most = needs[0], needs[-1]
    if left >= most:
        warnings = tuple(place.note for place in places if place.note)
        words = f"{what} is at least the required {most}"
        return Coverage(COVERED, words, left, most, warnings)
    if left < least:
        return Coverage(SHORT, f"{what} is less than the required {least}", left, least)
    words = (
        f"{what} is at least the largest capacity required of one position, {least}, but less than"
        f" those required added up, {most}: whether each is the whole or a share is not recorded."
        " Give the whole at the duty position alone"
    )
    return Coverage(UNKNOWN, words, left)


def _unrequired(stands: Sequence[Stand], standing: Sequence[tuple[Stand, list[Place]]]) -> Coverage:
    """No required capacity is given anywhere: only a like device stands in for another."""
    tags = _and(member.tag for stand in stands for member in stand.members)
    lacking = f"no required capacity is given for {tags}"
    if len(stands) > 1 or len(stands[0].places) < 2:
        return Coverage(UNKNOWN, lacking)
    whole, left = stands[0].places, standing[0][1]
    pairs = [(mine, other) for mine in left for other in whole if mine is not other]
    answers = [stands_in(mine.counted, other.counted) for mine, other in pairs]
    worst, words = min(answers, key=lambda answer: _WORST.index(answer[0]))
    if worst != COVERED:
        return Coverage(worst, f"{lacking}, and {words}")
    said = tuple(dict.fromkeys(words for _, words in answers))
    return Coverage(COVERED, said[0], smallest(left), warnings=(lacking, *said[1:]))


def stands_in(mine: Member, other: Member) -> tuple[str, str]:
    """Whether one device is rated for no less than the one it stands in for: the kind of answer,
    and why. Their set pressures have been compared already."""
    if mine.rated is not None and other.rated is not None:
        if not are_comparable([mine.rated, other.rated]):
            return NOT_COMPARABLE, f"{mine.rated} and {other.rated} cannot be compared"
        if mine.rated >= other.rated:
            return COVERED, f"{mine.tag} is rated for {mine.rated}, no less than {other.tag}"
        return (
            SHORT,
            f"{mine.tag} is rated for {mine.rated}, less than {other.rated} of {other.tag}",
        )
    if mine.rated is None and other.rated is None and mine.make and mine.make == other.make:
        alike = f"{mine.tag} and {other.tag} are of one model and orifice"
        return COVERED, f"rated capacities are not given; {alike}"
    lacking = [one.tag for one in (mine, other) if one.rated is None]
    return UNKNOWN, f"the rated capacity of what is fitted at {_and(lacking)} is not given"


def _unlike_sets(standing: Sequence[tuple[Stand, list[Place]]]) -> Coverage | None:
    """Devices on a changeover protect alike only at one set pressure."""
    for stand, _ in standing:
        pressures = [place.counted.set_pressure for place in stand.places]
        if len(pressures) < 2:
            continue
        tags = _and(place.counted.tag for place in stand.places)
        known = [one for one in pressures if one is not None]
        if any(one != known[0] for one in known):
            said = _and(map(str, known))
            return Coverage(NOT_COMPARABLE, f"the set pressures of {tags} differ: {said}")
        if len(known) < len(pressures):
            return Coverage(UNKNOWN, f"the set pressure of {tags} is not given for each")
    return None


def _nothing_stays(stands: Sequence[Stand], out: frozenset[Key]) -> str:
    absent = [
        place.absent
        for stand in stands
        for place in stand.places
        if place.absent and not out & place.positions
    ]
    return "nothing else stays in service here" + (f" ({'; '.join(absent)})" if absent else "")


def _not_comparable(members: Sequence[Member]) -> Coverage:
    return _mixed([member.required for member in members if member.required is not None])


def _mixed(quantities: Sequence[Quantity]) -> Coverage:
    units = list(dict.fromkeys(one.unit for one in quantities))
    words = f"capacities in {_and(units)} are of different kinds and are never added or compared"
    return Coverage(NOT_COMPARABLE, words)


def _and(words: Iterable[str]) -> str:
    *before, last = words
    return f"{', '.join(before)} and {last}" if before else last
