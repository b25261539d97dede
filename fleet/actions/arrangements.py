"""Positions joined in an arrangement: who stands with whom, and in which role."""

from collections import Counter
from collections.abc import Sequence
from datetime import datetime

from fleet import audit
from fleet.faults import Fault, Refused
from fleet.models import Arrangement, ArrangementMember, User

Role = ArrangementMember.Role
MANY = 100
# How many of each role an arrangement of a kind has: (at least, at most).
ROLES: dict[str, dict[str, tuple[int, int]]] = {
    "combination": {Role.VALVE: (1, 1), Role.UPSTREAM_DISC: (1, 1)},
    "pilot": {Role.MAIN: (1, 1), Role.PILOT: (1, MANY)},
    "changeover": {Role.DUTY: (1, 1), Role.STANDBY: (1, MANY)},
    "multiple": {Role.DUTY: (1, 1), Role.ADDITIONAL: (0, MANY), Role.FIRE: (0, MANY)},
}
WORDS = {
    "combination": "one valve and one upstream_disc",
    "pilot": "one main and a pilot",
    "changeover": "one duty and a standby or several",
    "multiple": "one duty and further devices, additional or fire",
}


@audit.writing()
def arrange(
    arranged: Sequence[tuple[Arrangement, Sequence[ArrangementMember]]],
    *,
    by: User,
    at: datetime,
) -> None:
    """Write arrangements, new or changed, each with all its members. Raises Refused where the
    roles are not those of its kind, or a position stands in two of one kind."""
    faults = [fault for one, members in arranged for fault in wrong_roles(one.kind, members)]
    faults += [fault for one, members in arranged for fault in _elsewhere(one, members)]
    if faults:
        raise Refused(faults)
    changes = []
    for one, members in arranged:
        one.save()
        for member in members:
            member.arrangement = one
            member.save()
        changes.append(audit.change("arrangement saved", one, *members))
    audit.record(changes, by=by, at=at)


def wrong_roles(kind: str, members: Sequence[ArrangementMember]) -> list[Fault]:
    """Faults of `role`: one that its kind does not have, too many of one, too few."""
    allowed, words = ROLES[kind], f"{WORDS[kind]} for {kind}"
    count = Counter(member.role for member in members)
    strange = sorted(set(count) - set(allowed))
    if strange:
        return [Fault("role", strange[0], words, code="wrong_roles")]
    are_right = all(least <= count[role] <= most for role, (least, most) in allowed.items())
    if are_right and len(members) > 1:
        return []
    held = ", ".join(f"{number} {role}" for role, number in sorted(count.items()))
    return [Fault("role", held, words, code="wrong_roles")]


def _elsewhere(one: Arrangement, members: Sequence[ArrangementMember]) -> list[Fault]:
    others = ArrangementMember.objects.filter(
        position__in=[member.position_id for member in members], arrangement__kind=one.kind
    ).exclude(arrangement=one.pk)
    words = "a position that stands in no other arrangement of this kind; it is in"
    return [
        Fault("tag", str(row.position), f"{words} {row.arrangement}", code="arranged_twice")
        for row in others.select_related("position", "arrangement")
    ]
