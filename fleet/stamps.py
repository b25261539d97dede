"""The line of today that lists sort on: the open span of each obligation, or a bare position."""

from collections.abc import Sequence
from datetime import date

from django.db.models import Q

from fleet.models import Deferral, DueLine, Installation, Obligation, ObligationSpan, Position
from fleet.models import SpanState

FIRST, LAST = date.min, date.max


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
    """The lines these positions should have, unsaved."""
    by_id = {position.pk: position for position in positions}
    obligations = Obligation.objects.filter(position__in=by_id, until_on=None)
    spans = {
        span.obligation_id: span
        for span in ObligationSpan.objects.known().filter(
            obligation__position__in=by_id, until_on=None
        )
    }
    until = {
        (obligation, due_on): until_on
        for obligation, due_on, until_on in Deferral.objects.filter(
            obligation__position__in=by_id
        ).values_list("obligation", "due_on", "until_on")
    }
    fitted = dict(
        Installation.objects.standing()
        .filter(position__in=by_id)
        .values_list("position", "device")
    )
    lines, listed = [], set()
    for obligation in obligations.order_by("pk"):
        position, span = by_id[obligation.position_id], spans.get(obligation.pk)
        if span is not None:
            listed.add(position.pk)
            deferred = until.get((obligation.pk, span.due_on)) if span.due_on else None
            lines.append(_line(position, obligation, span, deferred))
    bare = [position for position in positions if position.pk not in listed]
    return lines + [_bare_line(position, fitted.get(position.pk)) for position in bare]


def _line(
    position: Position, obligation: Obligation, span: ObligationSpan, deferred: date | None
) -> DueLine:
    order_on = span.due_on or (LAST if span.state == SpanState.NOT_REQUIRED else FIRST)
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


def _bare_line(position: Position, device_id: int | None) -> DueLine:
    """A position nobody has listed must show, unless nothing is required there."""
    if position.status in ("removed", "out_of_service"):
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
)


def _key(line: DueLine) -> tuple:
    return (line.position_id, line.obligation_id)


def _differs(line: DueLine, stored: DueLine | None) -> bool:
    return stored is None or any(
        getattr(line, name) != getattr(stored, name) for name in STAMPED
    )


def differences(positions: Sequence[Position]) -> list[tuple[int, str]]:
    """(position, words) wherever a stamped line is not what the spans say."""
    ids = [position.pk for position in positions]
    wanted = {_key(line): line for line in lines_of(positions)}
    stored = {_key(line): line for line in DueLine.objects.filter(Q(position__in=ids))}
    wrong = [key for key, line in wanted.items() if _differs(line, stored.get(key))]
    extra = [key for key in stored if key not in wanted]
    return [(key[0], "its due line is not what its spans say") for key in wrong + extra]
