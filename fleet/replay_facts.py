"""Every dated fact that can move the due dates of a set of positions, read at once."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleet.calc import duedates
from fleet.calc.units import parse_duration
from fleet.models import (
    CounterReading,
    Installation,
    IntervalDecision,
    ObligationSpan,
    OutOfService,
    Position,
    PositionDuty,
    PositionStatus,
    ServiceEvent,
    Trigger,
)


@dataclass(frozen=True)
class Facts:
    """By position (`_at`, standings, places), by device (`_of`) or by obligation (the rest)."""

    spells_at: dict[int, list[duedates.Spell]]
    spells_of: dict[int, list[duedates.Spell]]
    events_of: dict[int, list[duedates.Event]]
    events_at: dict[int, list[duedates.Event]]
    decisions: dict[int, list[duedates.Decision]]
    standings: dict[int, list[duedates.Standing]]
    places: dict[int, duedates.Place]
    stored: dict[int, list[ObligationSpan]]


def load_facts(
    position_ids: Sequence[int], obligation_ids: Sequence[int], *, with_stored: bool = True
) -> Facts:
    """`with_stored`: the spans that are stored too, of which a large group has a great many."""
    device_ids = set(
        Installation.objects.filter(position__in=position_ids).values_list("device", flat=True)
    )
    spells = [
        duedates.Spell(*row)
        for row in Installation.objects.filter(device__in=device_ids).values_list(
            "device", "position", "installed_on", "removed_on"
        )
    ]
    standing = ServiceEvent.objects.standing()
    entered = dict(Position.objects.filter(pk__in=position_ids).values_list("pk", "in_service_on"))
    duties = load_statuses(position_ids)
    return Facts(
        spells_at=_grouped((spell.position, spell) for spell in spells),
        spells_of=_grouped((spell.device, spell) for spell in spells),
        events_of=_events(standing.filter(device__in=device_ids), "device"),
        events_at=_events(standing.filter(position__in=position_ids), "position"),
        decisions=_grouped(
            (row[0], duedates.Decision(row[1], row[2], parse_duration(row[3]), row[4]))
            for row in IntervalDecision.objects.filter(obligation__in=obligation_ids).values_list(
                "obligation", "pk", "from_on", "interval", "act_by"
            )
        ),
        standings={pk: standings_of(rows, entered[pk]) for pk, rows in duties.items()},
        places=load_places(position_ids, duties),
        stored=_grouped(
            (span.obligation_id, span)
            for span in ObligationSpan.objects.known().filter(obligation__in=obligation_ids)
        )
        if with_stored
        else {},
    )


EVENT_COLUMNS = (
    *("pk", "device", "position", "activity", "done_on"),
    *("as_found_percent", "as_found_bound", "as_found_verdict", "is_counted"),
)


def _events(rows: Iterable, owner: str) -> dict[int, list[duedates.Event]]:
    found = (event_of(*row) for row in rows.values_list(*EVENT_COLUMNS))  # type: ignore[attr-defined]
    return _grouped((getattr(event, owner), event) for event in found)


def event_of(pk, device, position, activity, done_on, percent, bound, verdict, is_counted):
    """The ledger line as the replay takes it; without a first pop it found nothing."""
    found = None
    if percent is not None or bound or verdict:
        exact = None if percent is None else Fraction(percent)
        found = duedates.Found(exact, bound == "above", verdict)
    return duedates.Event(pk, device, position, activity, done_on, found, is_counted)


Status = tuple[date | None, str]


def load_statuses(position_ids: Sequence[int]) -> dict[int, list[Status]]:
    """From when on each position had which status, ascending; None = always."""
    rows = PositionDuty.objects.filter(position__in=position_ids)
    ordered = sorted(
        rows.values_list("position", "from_on", "status"), key=lambda row: row[1] or date.min
    )
    return _grouped((position, (from_on, status)) for position, from_on, status in ordered)


def standings_of(statuses: Sequence[Status], entered: date | None) -> list[duedates.Standing]:
    """From when on a position needs its device: never before it entered service."""
    standings: list[duedates.Standing] = []
    for from_on, status in statuses:
        required = status != PositionStatus.REMOVED
        if entered is not None and (from_on or date.min) <= entered:
            standings = [  # the duty that held on the first day, until a later one
                duedates.Standing(None, False),
                duedates.Standing(entered, required),
            ]
        else:
            standings.append(duedates.Standing(from_on, required))
    return standings


def load_places(
    position_ids: Sequence[int], statuses: dict[int, list[Status]]
) -> dict[int, duedates.Place]:
    """What happened at each position beside the work. Three queries."""
    idles = _grouped(
        (row[0], duedates.Idle(row[1], row[2]))
        for row in OutOfService.objects.filter(position__in=position_ids).values_list(
            "position", "from_on", "to_on"
        )
    )
    for position, rows in statuses.items():
        if laid_up := list(_laid_up(rows)):
            idles.setdefault(position, []).extend(laid_up)
    readings = _grouped(
        (row[0], duedates.Reading(row[1], row[2], Fraction(row[3])))
        for row in CounterReading.objects.filter(position__in=position_ids).values_list(
            "position", "counter", "read_on", "value"
        )
    )
    triggers = _grouped(
        (row[0], duedates.Trigger(row[1], row[2]))
        for row in Trigger.objects.filter(position__in=position_ids).values_list(
            "position", "kind", "happened_on"
        )
    )
    return {
        pk: duedates.Place(idles.get(pk, ()), readings.get(pk, ()), triggers.get(pk, ()))
        for pk in {*idles, *readings, *triggers}
    }


def _laid_up(statuses: Sequence[Status]) -> Iterable[duedates.Idle]:
    """The days of a duty that says it is out of service."""
    ends = [*(from_on for from_on, _ in statuses[1:]), None]
    for (from_on, status), until in zip(statuses, ends, strict=True):
        if status == PositionStatus.OUT_OF_SERVICE:
            yield duedates.Idle(from_on or date.min, until)


def _grouped(pairs: Iterable[tuple]) -> dict:
    groups = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return groups
