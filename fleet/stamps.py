"""The line of today that lists sort on: today's span of each obligation, or a bare position."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from datetime import date

from fleet import clock
from fleet.models import (
    Deferral,
    DueLine,
    Installation,
    Obligation,
    ObligationSpan,
    OutOfService,
    Position,
    SpanState,
)

FIRST, LAST = date.min, date.max
OWES_NOTHING = (SpanState.NOT_REQUIRED, SpanState.WAITING)


def stamp_lines(positions: Sequence[Position]) -> None:
    """Put the due lines of these positions right: five queries and what has changed."""
    ids = [position.pk for position in positions]
    wanted = {_key(line): line for line in lines_of(positions)}
    stored = {_key(line): line for line in DueLine.objects.filter(position__in=ids)}
    changed = [key for key, line in wanted.items() if _differs(line, stored.get(key))]
    gone = [line.pk for key, line in stored.items() if key not in wanted or key in changed]
    for start in range(0, len(gone), 1000):
        DueLine.objects.filter(pk__in=gone[start : start + 1000]).delete()
    DueLine.objects.bulk_create((wanted[key] for key in changed), batch_size=1000)


def lines_of(positions: Sequence[Position]) -> list[DueLine]:
    """The lines these positions should have today, unsaved."""
    by_id, today = {position.pk: position for position in positions}, clock.today()
    obligations = {
        obligation.pk: obligation
        for obligation in Obligation.objects.filter(position__in=by_id).exclude(until_on__lte=today)
    }
    rows = ObligationSpan.objects.known().on(today).filter(obligation__in=obligations)
    spans = list(rows.order_by("obligation", "from_on"))
    deferred = _deferrals(obligations)
    lines = [
        _line(
            by_id[obligations[span.obligation_id].position_id],
            obligations[span.obligation_id],
            span,
            deferred.get((span.obligation_id, span.due_on)),
        )
        for span in spans
    ]
    listed = {line.position_id for line in lines}
    bare = [pk for pk in by_id if pk not in listed]
    fitted, idle = _fitted(bare, today), _idle(bare, today)
    lines += [_bare_line(by_id[pk], fitted.get(pk), pk in idle) for pk in bare]
    return _held(lines, spans, obligations.values(), today)


def _deferrals(obligation_ids: Collection[int]) -> dict[tuple[int, date], date]:
    rows = Deferral.objects.filter(obligation__in=obligation_ids)
    return {
        (obligation, due_on): until_on
        for obligation, due_on, until_on in rows.values_list("obligation", "due_on", "until_on")
    }


def _fitted(position_ids: Collection[int], day: date) -> dict[int, int]:
    spells = Installation.objects.on(day).filter(position__in=position_ids)
    return dict(spells.values_list("position", "device"))


def _idle(position_ids: Collection[int], day: date) -> set[int]:
    rows = OutOfService.objects.on(day).filter(position__in=position_ids)
    return set(rows.values_list("position", flat=True))


def _held(
    lines: list[DueLine],
    spans: Iterable[ObligationSpan],
    obligations: Iterable[Obligation],
    today: date,
) -> list[DueLine]:
    """Say on every line of a position until which day its answer is known to hold."""
    changes: dict[int, list[date]] = defaultdict(list)
    place = {obligation.pk: obligation.position_id for obligation in obligations}
    for span in spans:
        if span.until_on:
            changes[place[span.obligation_id]].append(span.until_on)
    for obligation in obligations:
        if obligation.from_on and obligation.from_on > today:
            changes[obligation.position_id].append(obligation.from_on)
    for line in lines:
        line.holds_until = min(changes[line.position_id], default=None)
    return lines


def _line(
    position: Position, obligation: Obligation, span: ObligationSpan, deferred: date | None
) -> DueLine:
    order_on = span.due_on or (LAST if span.state in OWES_NOTHING else FIRST)
    return DueLine(
        site_id=position.site_id,
        unit_id=position.unit_id,
        position=position,
        obligation=obligation,
        span=span,
        device_id=span.device_id,
        tag=position.tag,
        activity=obligation.activity,
        state=span.state,
        due_on=span.due_on,
        target_on=span.target_on,
        last_on=span.last_on,
        deferred_until=deferred,
        order_on=order_on,
    )


def _bare_line(position: Position, device_id: int | None, is_idle: bool) -> DueLine:
    """A position nobody has listed must show, unless nothing is required there."""
    if is_idle or position.status in ("removed", "out_of_service"):
        state, order_on = SpanState.NOT_REQUIRED, LAST
    else:
        state = SpanState.NO_OBLIGATION if device_id else SpanState.NO_DEVICE
        order_on = FIRST
    return DueLine(
        site_id=position.site_id,
        unit_id=position.unit_id,
        position=position,
        device_id=device_id,
        tag=position.tag,
        state=state,
        order_on=order_on,
    )


STAMPED = (
    "site_id",
    "unit_id",
    "span_id",
    "device_id",
    "tag",
    "activity",
    "state",
    "due_on",
    "target_on",
    "last_on",
    "deferred_until",
    "order_on",
    "holds_until",
)


def _key(line: DueLine) -> tuple:
    return (line.position_id, line.obligation_id)


def _differs(line: DueLine, stored: DueLine | None) -> bool:
    return stored is None or any(getattr(line, name) != getattr(stored, name) for name in STAMPED)


def differences(positions: Sequence[Position]) -> list[tuple[int, str]]:
    """(position, words) wherever a stamped line is not what the spans say.

    Not those that are known to be stale: no list believes them (`stale_positions`).
    """
    ids, today = [position.pk for position in positions], clock.today()
    wanted = {_key(line): line for line in lines_of(positions)}
    stored = {_key(line): line for line in DueLine.objects.filter(position__in=ids)}
    stale = {line.position_id for line in stored.values() if _is_stale(line, today)}
    wrong = [key for key, line in wanted.items() if _differs(line, stored.get(key))]
    extra = [key for key in stored if key not in wanted]
    words = "its due line is not what its spans say"
    return [(key[0], words) for key in wrong + extra if key[0] not in stale]


def _is_stale(line: DueLine, today: date) -> bool:
    return line.holds_until is not None and line.holds_until <= today


def stale_positions() -> list[Position]:
    """Positions whose lines were stamped before a day on which the answer was to change."""
    return list(Position.objects.filter(due_lines__holds_until__lte=clock.today()).distinct())
