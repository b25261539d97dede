"""Positions and what each asks of its device, from a day on."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from fleet import audit
from fleet.actions.duty_proposals import of_duties
from fleet.actions.proposals import raise_proposals
from fleet.models import Position, PositionDuty, User

BATCH = 500
OWN_FIELDS = (
    "equipment",
    "in_service_on",
    "in_service_typed",
    "commissioned_on",
    "commissioned_typed",
    "note",
)
COPIED_FIELDS = ("tag", "unit", "status", "fluid", "set_kpag")


def copy_duty(position: Position, duty: PositionDuty) -> None:
    """Put on the position the copies that lists sort on."""
    position.tag, position.unit_id = duty.tag, duty.unit_id
    position.status, position.fluid = duty.status, duty.fluid
    assert duty.set_pressure is not None  # every duty has one
    position.set_kpag = duty.set_pressure.kpag


@audit.writing()
def add_positions(duties: Sequence[PositionDuty], *, by: User, at: datetime) -> None:
    """Write new positions with their first duty (unsaved, `duty.position` unsaved too)."""
    for duty in duties:
        copy_duty(duty.position, duty)
        duty.recorded_by, duty.recorded_at = by, at
    Position.objects.bulk_create([duty.position for duty in duties], batch_size=BATCH)
    for duty in duties:
        duty.position = duty.position  # the key that bulk_create has just given
    PositionDuty.objects.bulk_create(duties, batch_size=BATCH)
    audit.record(
        (audit.change("position added", duty.position, duty) for duty in duties), by=by, at=at
    )


@audit.writing()
def update_positions(positions: Sequence[Position], *, by: User, at: datetime) -> None:
    """Save what stands on the position itself."""
    Position.objects.bulk_update(positions, OWN_FIELDS, batch_size=BATCH)
    audit.record((audit.change("position changed", row) for row in positions), by=by, at=at)


@audit.writing()
def change_duties(
    duties: Sequence[PositionDuty], *, by: User, at: datetime, propose: bool = True
) -> None:
    """Write duties that begin on a day; the caller replays the positions.

    A new set pressure or service is a proposal to look at the intervals. A load that brings tests
    too passes `propose=False` and proposes once itself, at its end.
    """
    for duty in duties:
        duty.recorded_by, duty.recorded_at = by, at
    PositionDuty.objects.bulk_create(duties, batch_size=BATCH)
    _stamp_copies([duty.position for duty in duties], on=at.date())
    audit.record(
        (audit.change("duty changed", duty.position, duty) for duty in duties), by=by, at=at
    )
    if propose:
        raise_proposals(of_duties(duties), by=by, at=at)


def _stamp_copies(positions: Iterable[Position], *, on: date) -> None:
    """The position carries the duty in force on a day."""
    by_pk = {position.pk: position for position in positions}
    keys = sorted(by_pk)
    for start in range(0, len(keys), BATCH):
        rows = PositionDuty.objects.filter(position__in=keys[start : start + BATCH])
        for duty in sorted(rows, key=lambda row: row.from_on or date.min):
            if duty.from_on is None or duty.from_on <= on:
                copy_duty(by_pk[duty.position_id], duty)
    Position.objects.bulk_update(by_pk.values(), COPIED_FIELDS, batch_size=BATCH)
