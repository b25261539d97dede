"""What happens at a position beside the work: triggers, counter readings, days out of service.

Each action checks what it is given against what stands, writes it, and replays the positions
concerned; a load that brings more facts passes `replay=False` and replays once itself, at its end.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from itertools import pairwise

from django.db import models

from fleet import audit, clock, ledger
from fleet.faults import Fault, Refused
from fleet.models import CounterReading, OutOfService, Trigger, User

BATCH = 1000
Told = Trigger | CounterReading | OutOfService


@audit.writing()
def tell(triggers: Sequence[Trigger], *, by: User, at: datetime, replay: bool = True) -> None:
    """Write what happened, unsaved and without stamps. Raises Refused naming `happened_on`."""
    known = {(row.position_id, row.kind, row.happened_on) for row in _stored_with(triggers)}
    faults = _ahead(triggers, "happened_on", at)
    faults += [
        Fault("happened_on", str(row.happened_on), "a day of which this is not told yet")
        for row in triggers
        if (row.position_id, row.kind, row.happened_on) in known
    ]
    _write(triggers, faults, "trigger told", by, at, replay)


@audit.writing()
def read(
    readings: Sequence[CounterReading], *, by: User, at: datetime, replay: bool = True
) -> None:
    """Write counter readings, unsaved and without stamps. Raises Refused naming `value` where a
    counter would run back, `read_on` otherwise."""
    stored = _stored_with(readings)
    known = {(row.position_id, row.counter, row.read_on) for row in stored}
    faults = _ahead(readings, "read_on", at)
    for row in readings:
        if (row.position_id, row.counter, row.read_on) in known:
            words = f"a day on which {row.counter} was not read yet"
            faults.append(Fault("read_on", str(row.read_on), words))
    if not faults:
        fresh = {id(row) for row in readings}
        for soon, late in backward([*stored, *readings]):
            row, words = not_backward(soon, late, late_is_new=id(late) in fresh)
            faults.append(Fault("value", f"{row.value:f}", words))
    _write(readings, faults, "counter read", by, at, replay)


def backward(
    readings: Iterable[CounterReading],
) -> list[tuple[CounterReading, CounterReading]]:
    """Neighbouring readings of one counter of which the later one stands lower."""
    groups: dict[tuple[int, str], list[CounterReading]] = defaultdict(list)
    for row in readings:
        groups[row.position_id, row.counter].append(row)
    found = []
    for group in groups.values():
        group.sort(key=lambda row: row.read_on)
        found += [(soon, late) for soon, late in pairwise(group) if late.value < soon.value]
    return found


def not_backward(
    soon: CounterReading, late: CounterReading, *, late_is_new: bool
) -> tuple[CounterReading, str]:
    """Which of two readings is at fault, the new one, and what it should have been."""
    if late_is_new:
        words = f"at least {soon.value.normalize():f}, where {soon.counter} stood on {soon.read_on}"
        return late, f"{words}: a counter never runs back, and a new one takes a name of its own"
    words = f"at most {late.value.normalize():f}, where {late.counter} stood on {late.read_on}"
    return soon, f"{words}: a counter never runs back"


@audit.writing()
def lay_up(spans: Sequence[OutOfService], *, by: User, at: datetime, replay: bool = True) -> None:
    """Write days out of service, unsaved and without stamps; those with an end are over.

    Raises Refused naming `from_on` or `to_on`.
    """
    faults = _ahead(spans, "from_on", at) + [
        f for row in spans for f in _of_end(row, row.to_on, at)
    ]
    for soon, late in overlaps([*_stored_with(spans), *spans]):
        faults.append(Fault("from_on", str(late.from_on), apart_from(soon), code="overlap"))
    for row in spans:
        if row.to_on is not None:
            row.closed_by, row.closed_at = by, at
    _write(spans, faults, "out of service", by, at, replay)


@audit.writing()
def bring_back(
    spans: Sequence[tuple[OutOfService, date]], *, by: User, at: datetime, replay: bool = True
) -> None:
    """Close spans on the first day back in service: (span, to_on). Raises Refused."""
    faults = [fault for row, to_on in spans for fault in _of_end(row, to_on, at)]
    closed = OutOfService.objects.filter(pk__in=[row.pk for row, _ in spans]).exclude(to_on=None)
    faults += [
        Fault("to_on", "", f"a span that is still open: it returned on {row.to_on}")
        for row in closed
    ]
    if faults:
        raise Refused(faults)
    for row, to_on in spans:
        row.to_on, row.closed_by, row.closed_at = to_on, by, at
        OutOfService.objects.filter(pk=row.pk).update(to_on=to_on, closed_by=by, closed_at=at)
    if replay:
        ledger.replay_positions({row.position_id for row, _ in spans}, at=at)
    audit.record((audit.change("back in service", row) for row, _ in spans), by=by, at=at)


def overlaps(spans: Iterable[OutOfService]) -> list[tuple[OutOfService, OutOfService]]:
    """Neighbouring spans of one position that share a day. Half-open: back and out again on one
    day is legal."""
    groups: dict[int, list[OutOfService]] = defaultdict(list)
    for span in spans:
        groups[span.position_id].append(span)
    found = []
    for group in groups.values():
        group.sort(key=lambda span: span.from_on)
        found += [
            (soon, late)
            for soon, late in pairwise(group)
            if soon.to_on is None or late.from_on < soon.to_on
        ]
    return found


def apart_from(soon: OutOfService) -> str:
    end = f"to {soon.to_on}" if soon.to_on else "and has not returned"
    return f"a day in service: it is out of service from {soon.from_on} {end}"


def _of_end(span: OutOfService, to_on: date | None, at: datetime) -> list[Fault]:
    if to_on is None:
        return []
    if to_on <= span.from_on:
        words = f"a day after it went out of service, {span.from_on}"
        return [Fault("to_on", str(to_on), words, code="contradiction")]
    if to_on > clock.day_of(at):
        return [Fault("to_on", str(to_on), "a day that is not in the future")]
    return []


def _ahead(rows: Sequence[Told], name: str, at: datetime) -> list[Fault]:
    """Nothing is told before it has happened."""
    days = [getattr(row, name) for row in rows]
    words = "a day that is not in the future"
    return [Fault(name, str(day), words) for day in days if day > clock.day_of(at)]


def _stored_with(rows: Sequence[Told]) -> list:
    """What stands of the same kind at the same positions."""
    found: list[Told] = []
    keys = sorted({row.position_id for row in rows})
    for start in range(0, len(keys), BATCH):
        stored = type(rows[0])._default_manager
        found += stored.filter(position__in=keys[start : start + BATCH])
    return found


def _write(
    rows: Sequence[Told], faults: Sequence[Fault], action: str, by: User, at: datetime, replay: bool
) -> None:
    if faults:
        raise Refused(faults)
    if not rows:
        return
    for row in rows:
        row.recorded_by, row.recorded_at = by, at
    table: type[models.Model] = type(rows[0])
    table._default_manager.bulk_create(rows, batch_size=BATCH)
    if replay:
        ledger.replay_positions({row.position_id for row in rows}, at=at)
    audit.record((audit.change(action, row) for row in rows), by=by, at=at)
