"""What a position owes, decisions on its interval, and leave to pass a due date.

Callers replay the positions concerned.
"""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import models

from fleet import audit
from fleet.models import Deferral, IntervalDecision, Obligation, User

BATCH = 1000


@audit.writing()
def owe(obligations: Sequence[Obligation], *, by: User, at: datetime) -> None:
    """Write obligations, unsaved and without stamps."""
    for row in obligations:
        if row.until_on is not None:
            row.closed_by, row.closed_at = by, at
    _write(obligations, "obligation added", by, at)


@audit.writing()
def end(obligations: Sequence[tuple[Obligation, date]], *, by: User, at: datetime) -> None:
    """Close obligations: (obligation, the first day on which it is owed no more)."""
    for row, until_on in obligations:
        row.until_on, row.closed_by, row.closed_at = until_on, by, at
        Obligation.objects.filter(pk=row.pk).update(until_on=until_on, closed_by=by, closed_at=at)
    audit.record((audit.change("obligation ended", row) for row, _ in obligations), by=by, at=at)


@audit.writing()
def decide(decisions: Sequence[IntervalDecision], *, by: User, at: datetime) -> None:
    """Write interval decisions, unsaved and without stamps."""
    _write(decisions, "interval decided", by, at)


@audit.writing()
def defer(deferrals: Sequence[Deferral], *, by: User, at: datetime) -> None:
    """Write deferrals, unsaved and without stamps."""
    _write(deferrals, "due date deferred", by, at)


def _write(rows: Sequence[models.Model], action: str, by: User, at: datetime) -> None:
    if not rows:
        return
    for row in rows:
        row.recorded_by, row.recorded_at = by, at  # type: ignore[attr-defined]
    type(rows[0])._default_manager.bulk_create(rows, batch_size=BATCH)
    audit.record((audit.change(action, row) for row in rows), by=by, at=at)
