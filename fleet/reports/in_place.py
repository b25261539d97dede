"""What stands where on a day: the duty in force at each position, and the device fitted there."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Q, QuerySet

from fleet.models import (
    Device,
    Installation,
    OutOfService,
    Position,
    PositionDuty,
    PositionStatus,
)

NOT_USABLE = (Device.Status.QUARANTINED, Device.Status.SCRAPPED, Device.Status.IN_SHOP)


@dataclass(frozen=True)
class InPlace:
    """One position on a day. last: what is fitted, or was fitted last. absent: why nothing here
    protects; "" where something does, or stands by."""

    position: Position
    duty: PositionDuty | None
    device: Device | None
    last: Device | None
    absent: str

    @property
    def is_idle(self) -> bool:
        return self.duty is not None and self.duty.status == PositionStatus.STANDBY


def in_place(positions: Collection[int], day: date) -> dict[int, InPlace]:
    """Four queries, whatever the number of positions."""
    keys = sorted(positions)
    rows = Position.objects.in_bulk(keys)
    duties = _duties(keys, day)
    spells: dict[int, Installation] = {}
    for spell in _spells(keys, day):
        spells[spell.position_id] = spell
    idle = set(
        OutOfService.objects.on(day).filter(position__in=keys).values_list("position", flat=True)
    )
    return {
        pk: _of(rows[pk], duties.get(pk), spells.get(pk), day, is_out=pk in idle)
        for pk in keys
        if pk in rows
    }


def _duties(keys: list[int], day: date) -> dict[int, PositionDuty]:
    held = PositionDuty.objects.filter(position__in=keys)
    held = held.filter(Q(from_on=None) | Q(from_on__lte=day))
    return {row.position_id: row for row in held.order_by(F("from_on").asc(nulls_first=True))}


def _spells(keys: list[int], day: date) -> QuerySet[Installation]:
    """Those that have begun, the last one last."""
    rows = Installation.objects.filter(position__in=keys, installed_on__lte=day)
    return rows.select_related("device__model").order_by("installed_on")


def _of(
    position: Position,
    duty: PositionDuty | None,
    spell: Installation | None,
    day: date,
    *,
    is_out: bool,
) -> InPlace:
    is_held = spell is not None and (spell.removed_on is None or spell.removed_on > day)
    device = spell.device if spell is not None and is_held else None
    last = spell.device if spell is not None else None
    absent = "it is out of service" if is_out else _absent(position, duty, device, day)
    return InPlace(position, duty, device, last, absent)


def _absent(position: Position, duty: PositionDuty | None, device: Device | None, day: date) -> str:
    if duty is None:
        return "nothing says what it is for"
    if duty.status in (PositionStatus.OUT_OF_SERVICE, PositionStatus.REMOVED):
        return f"it is {duty.get_status_display()}"
    if position.in_service_on is not None and position.in_service_on > day:
        return f"it enters service on {position.in_service_on}"
    if device is None:
        return "nothing is fitted"
    if device.status in NOT_USABLE:
        return f"its device {device} is {device.get_status_display()}"
    return ""
