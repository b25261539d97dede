"""Loads what a replay needs, and gives its answers as unsaved spans.

Below the ledger: reads rows, calls `fleet.calc.duedates.replay`, writes nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fleet.calc import duedates
from fleet.calc.units import parse_duration
from fleet.models import (
    Installation,
    IntervalDecision,
    Obligation,
    ObligationSpan,
    Position,
    PositionDuty,
    PositionStatus,
    ServiceEvent,
)

NEEDS_NOTHING = {PositionStatus.REMOVED, PositionStatus.OUT_OF_SERVICE}


@dataclass(frozen=True)
class Answer:
    """What is stored for one obligation, and what replay gives now (unsaved spans)."""

    obligation_id: int
    stored: list[ObligationSpan]
    replayed: list[ObligationSpan]


@dataclass(frozen=True)
class Facts:
    """Everything that can move the due dates of a set of positions, by position or device."""

    spells_at: dict[int, list[duedates.Spell]]
    spells_of: dict[int, list[duedates.Spell]]
    events_of: dict[int, list[duedates.Event]]
    events_at: dict[int, list[duedates.Event]]
    decisions: dict[int, list[duedates.Decision]]
    standings: dict[int, list[duedates.Standing]]
    stored: dict[int, list[ObligationSpan]]


def load_answers(positions: Sequence[Position]) -> list[Answer]:
    """Replay every obligation of these positions. Nine queries, whatever their number."""
    by_id = {position.pk: position for position in positions}
    obligations = list(
        Obligation.objects.filter(position__in=by_id).select_related("rule").order_by("pk")
    )
    facts = load_facts(list(by_id), [obligation.pk for obligation in obligations])
    return [
        Answer(
            obligation.pk,
            facts.stored.get(obligation.pk, []),
            _replay(obligation, by_id[obligation.position_id], facts),
        )
        for obligation in obligations
    ]


def _replay(obligation: Obligation, position: Position, facts: Facts) -> list[ObligationSpan]:
    here = facts.spells_at.get(position.pk, [])
    devices = {spell.device for spell in here}
    spells = [spell for device in devices for spell in facts.spells_of.get(device, [])]
    events = [event for device in devices for event in facts.events_of.get(device, [])]
    spans = duedates.replay(
        owed_of(obligation, position),
        position.pk,
        spells,
        events + facts.events_at.get(position.pk, []),
        facts.decisions.get(obligation.pk, []),
        facts.standings.get(position.pk, []),
    )
    return [_unsaved(obligation, span) for span in spans]


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


def load_facts(position_ids: Sequence[int], obligation_ids: Sequence[int]) -> Facts:
    device_ids = set(
        Installation.objects.filter(position__in=position_ids).values_list("device", flat=True)
    )
    spells = [
        duedates.Spell(*row)
        for row in Installation.objects.filter(device__in=device_ids).values_list(
            "device", "position", "installed_on", "removed_on"
        )
    ]
    columns = ("pk", "device", "position", "activity", "done_on")
    standing = ServiceEvent.objects.standing()
    return Facts(
        spells_at=_grouped((spell.position, spell) for spell in spells),
        spells_of=_grouped((spell.device, spell) for spell in spells),
        events_of=_grouped(
            (row[1], duedates.Event(*row))
            for row in standing.filter(device__in=device_ids).values_list(*columns)
        ),
        events_at=_grouped(
            (row[2], duedates.Event(*row))
            for row in standing.filter(position__in=position_ids).values_list(*columns)
        ),
        decisions=_grouped(
            (row[0], duedates.Decision(row[1], row[2], parse_duration(row[3]), row[4]))
            for row in IntervalDecision.objects.filter(obligation__in=obligation_ids).values_list(
                "obligation", "pk", "from_on", "interval", "act_by"
            )
        ),
        standings=load_standings(position_ids),
        stored=_grouped(
            (span.obligation_id, span)
            for span in ObligationSpan.objects.known().filter(obligation__in=obligation_ids)
        ),
    )


def load_standings(position_ids: Sequence[int]) -> dict[int, list[duedates.Standing]]:
    """From when on each position needs its device: never before it entered service."""
    entered = dict(Position.objects.filter(pk__in=position_ids).values_list("pk", "in_service_on"))
    duties = PositionDuty.objects.filter(position__in=position_ids).values_list(
        "position", "from_on", "status"
    )
    standings: dict[int, list[duedates.Standing]] = defaultdict(list)
    for position, from_on, status in sorted(duties, key=lambda duty: duty[1] or date.min):
        start, required = entered[position], status not in NEEDS_NOTHING
        if start is not None and (from_on or date.min) <= start:
            standings[position] = [  # the duty that held on the first day, until a later one
                duedates.Standing(None, False),
                duedates.Standing(start, required),
            ]
        else:
            standings[position].append(duedates.Standing(from_on, required))
    return standings


def _grouped(pairs: Iterable[tuple]) -> dict:
    groups = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return groups
