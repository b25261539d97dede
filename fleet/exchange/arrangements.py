"""The arrangements sheet: a row for each position of an arrangement, in its role.

What an arrangement is may change: a row gives a position another role, or joins one. Leaving a
row out takes nobody out.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from fleet.actions import arrangements
from fleet.exchange import cells
from fleet.exchange.places import position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import Arrangement, ArrangementMember, Position, Site

SHEET = Sheet(
    "arrangements",
    ("site", "arrangement", "tag"),
    (
        Column("site", cells.telling(120)),
        Column("arrangement", cells.telling(80), required=True),
        Column("kind", cells.word(Arrangement.Kind.values), required=True),
        Column("tag", cells.text(80), required=True),
        Column("role", cells.word(ArrangementMember.Role.values), required=True),
    ),
)
Key = tuple[int, str]


@dataclass
class Joined:
    """An arrangement as it will be: what stands of it, and what rows say."""

    arrangement: Arrangement
    members: dict[int, ArrangementMember] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)
    is_changed: bool = False

    @property
    def all(self) -> list[ArrangementMember]:
        return list(self.members.values())


def load(run: Run, rows: Sequence[Row]) -> None:
    known = _known()
    stood = {key for key, one in known.items()}
    grouped: dict[Key, list[tuple[Row, Position]]] = defaultdict(list)
    for row in rows:
        position = position_of(run, row)
        if position is not None:
            grouped[position.site_id, row["arrangement"]].append((row, position))
    named = []
    for key, group in grouped.items():
        one = known.setdefault(key, Joined(Arrangement(site_id=key[0], name=key[1])))
        if _join(run, one, group):
            named.append(one)
    sound = [one for one in named if _is_right(run, one)]
    changed = [one for one in sound if one.is_changed]
    if _stand_once(run, sound, known.values()):
        saved = [(one.arrangement, one.all) for one in changed]
        arrangements.arrange(saved, by=run.by, at=run.at)
    added = sum((one.arrangement.site_id, one.arrangement.name) not in stood for one in changed)
    run.count("arrangements added", added)
    run.count("arrangements changed", len(changed) - added)
    for one in changed:
        run.touched.update(one.members)
        for row in one.rows:
            run.wrote(row, one)


def _known() -> dict[Key, Joined]:
    found = {(row.site_id, row.name): Joined(row) for row in Arrangement.objects.all()}
    by_pk = {one.arrangement.pk: one for one in found.values()}
    for member in ArrangementMember.objects.select_related("position").order_by("pk"):
        by_pk[member.arrangement_id].members[member.position_id] = member
    return found


def _join(run: Run, one: Joined, group: Iterable[tuple[Row, Position]]) -> bool:
    """Put on an arrangement what its rows say; False where they contradict themselves."""
    kinds: dict[str, int] = {}
    seen: set[int] = set()
    is_sound = True
    for row, position in group:
        kinds.setdefault(row["kind"], row.number)
        if len(kinds) > 1 and row["kind"] != next(iter(kinds)):
            first, number = next(iter(kinds.items()))
            words = f"{first}, as row {number} has it: an arrangement is of one kind"
            run.say(row.fault("kind", words, code="contradiction"))
            is_sound = False
        if position.pk in seen:
            words = "a tag once in an arrangement"
            run.say(row.fault("tag", words, code="duplicate"))
            is_sound = False
        seen.add(position.pk)
        _set_role(one, row, position)
        one.rows.append(row)
    kind = next(iter(kinds))
    if one.arrangement.kind != kind:
        one.arrangement.kind, one.is_changed = kind, True
    return is_sound


def _set_role(one: Joined, row: Row, position: Position) -> None:
    member = one.members.setdefault(position.pk, ArrangementMember(position=position))
    if member.role != row["role"]:
        member.role, one.is_changed = row["role"], True


def _is_right(run: Run, one: Joined) -> bool:
    faults = arrangements.wrong_roles(one.arrangement.kind, one.all)
    for fault in faults:
        row = next((row for row in one.rows if row["role"] == fault.typed), one.rows[0])
        run.say(replace(fault, sheet=row.sheet, row=row.number))
    return not faults


def _stand_once(run: Run, sound: Sequence[Joined], every: Iterable[Joined]) -> bool:
    """A position stands in one arrangement of a kind; the row at fault is one of this sheet."""
    places: dict[tuple[int, str], list[Joined]] = defaultdict(list)
    for one in every:
        for place in one.members:
            places[place, one.arrangement.kind].append(one)
    twice = [found for found in places.items() if len(found[1]) > 1]
    for (place, kind), found in twice:
        mine = next((one for one in reversed(found) if one in sound), None)
        if mine is None:
            continue
        other = next(one for one in found if one is not mine)
        tag = mine.members[place].position.tag
        row = next((row for row in mine.rows if row["tag"] == tag), mine.rows[0])
        words = f"a tag in one {kind}; it is in {other.arrangement.name} too"
        run.say(row.fault("tag", words, code="arranged_twice"))
    return not twice


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    rows = ArrangementMember.objects.select_related("arrangement__site", "position")
    rows = rows.filter(arrangement__site=site) if site else rows
    for member in rows.iterator(chunk_size=2000):
        yield {
            "site": member.arrangement.site.name,
            "arrangement": member.arrangement.name,
            "kind": member.arrangement.kind,
            "tag": member.position.tag,
            "role": member.role,
        }
