"""Loads what a replay needs, and gives its answers as unsaved spans.

Below the ledger: reads rows, calls `fleet.calc.duedates.replay` and, for what a sampled group owes
together, `fleet.calc.groups.replay_group`; writes nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from fleet.calc import duedates
from fleet.calc.groups import Member, replay_group
from fleet.calc.units import parse_duration
from fleet.models import Obligation, ObligationSpan, Position
from fleet.replay_facts import Facts, load_facts

GROUP_SAMPLE = "group_sample"
FEW = 1000  # as many as one condition names


@dataclass(frozen=True)
class Answer:
    """What is stored for one obligation, and what replay gives now (unsaved spans)."""

    obligation_id: int
    position_id: int
    stored: list[ObligationSpan]
    replayed: list[ObligationSpan]


def load_answers(positions: Sequence[Position]) -> list[Answer]:
    """Replay every obligation of these positions. Thirteen queries, whatever their number.

    A group is answered whole or not at all: give every position of it (`in_whole_groups`).
    """
    by_id = {position.pk: position for position in positions}
    obligations = list(
        Obligation.objects.filter(position__in=by_id).select_related("rule").order_by("pk")
    )
    facts = load_facts(list(by_id), [obligation.pk for obligation in obligations])
    spans = _spans_of(obligations, by_id, facts)
    return [
        Answer(
            obligation.pk,
            obligation.position_id,
            facts.stored.get(obligation.pk, []),
            [_unsaved(obligation, span) for span in spans[obligation.pk]],
        )
        for obligation in obligations
    ]


def preview(obligation: Obligation, decision: duedates.Decision) -> list[duedates.Span]:
    """What replay would give for an obligation if this were decided too. Nothing is written."""
    members, positions, facts = _with_facts(sampled_with(obligation))
    facts.decisions.setdefault(obligation.pk, []).append(decision)
    return _spans_of(members, positions, facts)[obligation.pk]


def sampled_with(obligation: Obligation) -> QuerySet[Obligation]:
    """All of its group, ever; where its rule samples none, itself."""
    if obligation.rule.kind != GROUP_SAMPLE:
        return Obligation.objects.filter(pk=obligation.pk)
    return Obligation.objects.filter(
        position__site=obligation.position.site_id,
        group=obligation.group,
        activity=obligation.activity,
        rule=obligation.rule_id,
    )


def load_group(obligation: Obligation) -> tuple[list[Member], dict[int, Position]]:
    """Every member its group has ever had, in the order its replay takes them, and their positions.
    Eleven queries, whatever their number."""
    members, positions, facts = _with_facts(sampled_with(obligation))
    found = [member_of(member, positions[member.position_id], facts) for member in members]
    return in_turn(found, positions), positions


def in_turn(members: Iterable[Member], positions: Mapping[int, Position]) -> list[Member]:
    """Of two equally long untested, the one that comes first here is next."""
    return sorted(members, key=lambda member: (positions[member.position].tag, member.key))


def _with_facts(
    rows: QuerySet[Obligation],
) -> tuple[list[Obligation], dict[int, Position], Facts]:
    members = list(rows.select_related("rule", "position"))
    positions = {member.position_id: member.position for member in members}
    keys = [member.pk for member in members]
    return members, positions, load_facts(list(positions), keys, with_stored=False)


def _spans_of(
    obligations: Iterable[Obligation], positions: dict[int, Position], facts: Facts
) -> dict[int, list[duedates.Span]]:
    spans: dict[int, list[duedates.Span]] = {}
    groups: dict[tuple, list[Member]] = defaultdict(list)
    for obligation in obligations:
        position = positions[obligation.position_id]
        member = member_of(obligation, position, facts)
        if obligation.rule.kind == GROUP_SAMPLE:
            groups[group_key(obligation, position)].append(member)
        else:
            spans[obligation.pk] = duedates.replay(*member[1:])
    for members in groups.values():
        spans.update(replay_group(in_turn(members, positions)))  # type: ignore[arg-type]
    return spans


def group_key(obligation: Obligation, position: Position) -> tuple[int, str, str, int]:
    """A group is one name at one site, for one activity under one rule."""
    return (position.site_id, obligation.group, obligation.activity, obligation.rule_id)


def in_whole_groups(position_ids: Iterable[int], size: int) -> Iterator[list[int]]:
    """These positions, and all that share a sampled group with one of them, in parts of about
    `size` that never part a group.
    """
    ids = set(position_ids)
    groups = list(_groups_of(ids))
    single = sorted(ids.difference(*groups))
    part: list[int] = []
    for unit in [*([pk] for pk in single), *(sorted(group) for group in groups)]:
        if part and len(part) + len(unit) > size:
            yield part
            part = []
        part.extend(unit)
    if part:
        yield part


def _groups_of(ids: set[int]) -> list[set[int]]:
    """The sampled groups that hold any of these positions, each with all that hangs on it."""
    sampled = Obligation.objects.filter(rule__kind=GROUP_SAMPLE)
    if len(ids) <= FEW:
        # Two queries: nested in one, a database that takes these tables for empty, as it does in
        # the midst of a first load, loops over all of them for each row of the other.
        mine = sampled.filter(position__in=ids)
        sites = set(mine.values_list("position__site", flat=True))
        if not sites:
            return []
        sampled = sampled.filter(position__site__in=sites)
    named: dict[tuple, set[int]] = defaultdict(set)
    for position, *key in sampled.values_list(
        "position", "position__site", "group", "activity", "rule"
    ):
        named[tuple(key)].add(position)
    parts: list[set[int]] = []
    for group in named.values():
        apart = [part for part in parts if part.isdisjoint(group)]
        parts = [*apart, group.union(*(part for part in parts if not part.isdisjoint(group)))]
    return [part for part in parts if not part.isdisjoint(ids)]


def member_of(obligation: Obligation, position: Position, facts: Facts) -> Member:
    """One obligation with every fact that can move its due date."""
    here = facts.spells_at.get(position.pk, [])
    devices = {spell.device for spell in here}
    spells = [spell for device in devices for spell in facts.spells_of.get(device, [])]
    events = [event for device in devices for event in facts.events_of.get(device, [])]
    return Member(
        obligation.pk,
        owed_of(obligation, position),
        position.pk,
        spells,
        events + facts.events_at.get(position.pk, []),
        facts.decisions.get(obligation.pk, []),
        facts.standings.get(position.pk, []),
        facts.places.get(position.pk, duedates.NOWHERE),
    )


def owed_of(obligation: Obligation, position: Position) -> duedates.Owed:
    limit = obligation.shelf_limit
    return duedates.Owed(
        activity=obligation.activity,
        shape=obligation.rule.shape,
        counts_from=obligation.counts_from,
        shelf_limit=parse_duration(limit) if limit else None,
        commissioned_on=position.commissioned_on,
        from_on=obligation.from_on,
        until_on=obligation.until_on,
        season=obligation.season,
        in_service_on=position.in_service_on,
    )


def _unsaved(obligation: Obligation, span: duedates.Span) -> ObligationSpan:
    return ObligationSpan(
        obligation_id=obligation.pk,
        from_on=span.from_on,
        until_on=span.until_on,
        state=span.state,
        due_on=span.due_on,
        target_on=span.target_on,
        last_on=span.last_on,
        event_id=span.event,
        decision_id=span.decision,
        device_id=span.device,
        limit=span.limit,
    )
