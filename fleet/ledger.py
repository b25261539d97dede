"""The only writer of service events, obligation spans and due lines.

Record or void events, replay the positions concerned, stamp their lines: one transaction. Callers
that change installations, duties, obligations or decisions call `replay_positions` in theirs.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from itertools import chain

from fleet import audit
from fleet.models import (
    EventVoid,
    Installation,
    ObligationSpan,
    Position,
    ServiceEvent,
    User,
)
from fleet.replays import Answer, in_whole_groups, load_answers
from fleet.stamps import stale_positions, stamp_lines

CHUNK = 1000


@audit.writing()
def record(
    events: Sequence[ServiceEvent], *, by: User, at: datetime, replay: bool = True
) -> list[ServiceEvent]:
    """Write events (unsaved, without stamps), then replay every position they concern.

    A load that brings more facts passes `replay=False` and replays once itself, at its end.
    """
    for event in events:
        event.recorded_by, event.recorded_at = by, at
    devices = {event.device_id for event in events if event.device_id}
    ServiceEvent.objects.bulk_create(events, batch_size=CHUNK)
    if replay:
        places = {event.position_id for event in events if event.position_id}
        replay_positions(places | positions_served(devices), at=at)
    audit.record((audit.change("event recorded", event) for event in events), by=by, at=at)
    return list(events)


@audit.writing()
def void(events: Sequence[ServiceEvent], *, reason: str, by: User, at: datetime) -> None:
    """Say that events no longer count, then replay every position they concern."""
    devices = {event.device_id for event in events if event.device_id}
    voids = EventVoid.objects.bulk_create(
        EventVoid(event=event, reason=reason, recorded_by=by, recorded_at=at) for event in events
    )
    places = {event.position_id for event in events if event.position_id}
    replay_positions(places | positions_served(devices), at=at)
    audit.record((audit.change("event voided", row) for row in voids), by=by, at=at)


def positions_served(device_ids: Collection[int]) -> set[int]:
    """Every position these devices have ever been fitted to."""
    ids, served = sorted(device_ids), set()
    for start in range(0, len(ids), CHUNK):
        spells = Installation.objects.filter(device__in=ids[start : start + CHUNK])
        served.update(spells.values_list("position", flat=True))
    return served


@audit.writing()
def replay_positions(position_ids: Iterable[int], *, at: datetime) -> int:
    """Replay positions, write what changed of their spans, stamp their lines.

    A sampled group is replayed whole: its other positions with it. Returns the number of spans
    written.
    """
    written = 0
    for chunk in in_whole_groups(position_ids, CHUNK):
        positions = _positions(chunk)
        answers = load_answers(positions)
        written += _write_spans(answers, at)
        stamp_lines(positions)
    return written


def _positions(ids: Sequence[int]) -> list[Position]:
    return list(Position.objects.filter(pk__in=ids).order_by("pk"))


@audit.writing()
def renew_lines() -> int:
    """Stamp again the lines of positions whose answer has changed because its day has come."""
    stale = stale_positions()
    for start in range(0, len(stale), CHUNK):
        stamp_lines(stale[start : start + CHUNK])
    return len(stale)


def _write_spans(answers: Iterable[Answer], at: datetime) -> int:
    """Supersede stored spans the replay no longer gives; append those it newly gives.

    What was known never runs backwards: a writer who waited his turn writes no earlier than the
    one before him.
    """
    dropped: dict[datetime, list[int]] = defaultdict(list)
    added = []
    for answer in answers:
        moment = max([at, *(span.recorded_at for span in answer.stored)])
        stored = {_key(span): span.pk for span in answer.stored}
        fresh = {_key(span): span for span in answer.replayed}
        dropped[moment] += [pk for key, pk in stored.items() if key not in fresh]
        for key, span in fresh.items():
            if key not in stored:
                span.recorded_at = moment
                added.append(span)
    for moment, keys in dropped.items():
        for start in range(0, len(keys), CHUNK):
            spans = ObligationSpan.objects.filter(pk__in=keys[start : start + CHUNK])
            spans.update(superseded_at=moment)
    ObligationSpan.objects.bulk_create(added, batch_size=CHUNK)
    return len(added)


def _key(span: ObligationSpan) -> tuple:
    """What makes two answers the same answer."""
    return (
        span.from_on,
        span.until_on,
        span.state,
        span.due_on,
        span.target_on,
        span.last_on,
        span.event_id,
        span.decision_id,
        span.device_id,
        span.limit,
    )


def differences(positions: Sequence[Position]) -> list[tuple[int, date | None, str]]:
    """(obligation, day, words) wherever what is stored is not what replay gives.

    Of the obligations of these positions alone; the groups they are sampled in are replayed whole.
    """
    wanted, found = {position.pk for position in positions}, []
    parts = in_whole_groups(wanted, CHUNK)
    for answer in chain.from_iterable(load_answers(_positions(part)) for part in parts):
        if answer.position_id not in wanted:
            continue
        stored = {_key(span) for span in answer.stored}
        fresh = {_key(span) for span in answer.replayed}
        for key in sorted(stored ^ fresh, key=str):
            words = "stored, replay does not give it" if key in stored else "replayed, not stored"
            found.append((answer.obligation_id, key[0], f"{words}: due {key[3] or key[2]}"))
    return found


def concerned_by(installations: Iterable[Installation]) -> set[int]:
    """Positions to replay when these spells begin or end."""
    spells = list(installations)
    places = {spell.position_id for spell in spells}
    return places | positions_served({spell.device_id for spell in spells})
