"""The register of positions: what each asks for, what is fitted there and what it owes next."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.conf import settings
from django.db.models import F, Min, Q, QuerySet

from fleet.calc.units import Quantity
from fleet.models import DueLine, Installation, Position, PositionDuty, User
from fleet.reports.chances import Chances
from fleet.reports.due_ask import Seen, status_of
from fleet.reports.register_ask import Asked, named

POSITION_COLUMNS = (
    *("site", "unit", "tag", "equipment", "set_pressure", "fluid", "status"),
    *("device", "serial", "kind", "model", "fitted_on", "owes", "due_on", "due_status"),
)
POSITION_SORTS = {
    "tag": "tag",
    "equipment": "equipment__name",
    "set_pressure": "set_kpag",
    "fluid": "fluid",
    "status": "status",
    "due": "first_order",
}


@dataclass(frozen=True)
class PositionRow:
    pk: int
    site: str
    unit: str
    tag: str
    equipment: str
    set_pressure: Quantity | None
    fluid: str
    status: str
    device_pk: int | None
    device: str
    serial: str
    kind: str
    model: str
    fitted_on: date | None
    owes: str
    due_on: date | None
    due_status: str

    def as_dict(self) -> dict:
        return {name: getattr(self, name) for name in POSITION_COLUMNS}


@dataclass(frozen=True)
class Positions:
    """Positions a user may see, seen from a day."""

    user: User
    as_of: date
    asked: Asked

    @cached_property
    def matching(self) -> QuerySet[Position]:
        rows, asked = Position.objects.visible_to(self.user), self.asked
        exact = {"site": asked.site, "unit": asked.unit, "status": asked.status}
        rows = rows.filter(**{name: value for name, value in exact.items() if value})
        if asked.fluid:
            rows = rows.filter(fluid__icontains=asked.fluid)
        standing = Installation.objects.standing()
        if asked.kind:
            rows = rows.filter(pk__in=standing.filter(device__kind=asked.kind).values("position"))
        if asked.find:
            fitted = standing.filter(named(asked.find, "device__")).values("position")
            rows = rows.filter(
                Q(tag__icontains=asked.find)
                | Q(equipment__name__icontains=asked.find)
                | Q(pk__in=fitted)
            )
        return rows

    def count(self) -> int:
        return self.matching.count()

    def rows(self, start: int, stop: int | None, sort: str) -> list[PositionRow]:
        turned, name = sort.startswith("-"), POSITION_SORTS[sort.lstrip("-")]
        rows = self.matching.select_related("site", "unit", "equipment")
        if name == "first_order":
            rows = rows.annotate(first_order=Min("due_lines__order_on"))
        key = F(name).desc(nulls_last=True) if turned else F(name).asc(nulls_last=True)
        return self._said(list(rows.order_by(key, "tag", "pk")[start:stop]))

    def every_row(self) -> Iterator[dict]:
        for start in range(0, self.count(), 1000):
            yield from (row.as_dict() for row in self.rows(start, start + 1000, "tag"))

    def _said(self, positions: list[Position]) -> list[PositionRow]:
        ids = [position.pk for position in positions]
        pressures = set_pressures(ids, self.as_of)
        spells = Installation.objects.standing().filter(position__in=ids)
        fitted = {row.position_id: row for row in spells.select_related("device__model")}
        lines = first_lines(ids)
        seen = Seen(self.as_of, settings.DUE_SOON_DAYS, Chances({}))
        return [
            _position_row(p, pressures.get(p.pk), fitted.get(p.pk), lines.get(p.pk), seen)
            for p in positions
        ]


def set_pressures(position_ids: list[int], as_of: date) -> dict[int, Quantity | None]:
    """Each position's set pressure as typed, of the duty in force that day."""
    duties = PositionDuty.objects.filter(position__in=position_ids).filter(
        Q(from_on=None) | Q(from_on__lte=as_of)
    )
    ordered = duties.order_by(F("from_on").asc(nulls_first=True))
    return {duty.position_id: duty.set_pressure for duty in ordered}


def first_lines(position_ids: list[int]) -> dict[int, DueLine]:
    """The most pressing due line of each position."""
    lines = DueLine.objects.filter(position__in=position_ids).order_by("-order_on", "-pk")
    return {line.position_id: line for line in lines}


def _position_row(
    position: Position,
    pressure: Quantity | None,
    spell: Installation | None,
    line: DueLine | None,
    seen: Seen,
) -> PositionRow:
    device = spell.device if spell else None
    return PositionRow(
        pk=position.pk,
        site=position.site.name,
        unit=position.unit.name,
        tag=position.tag,
        equipment=position.equipment.name if position.equipment else "",
        set_pressure=pressure,
        fluid=position.fluid,
        status=position.status,
        device_pk=device.pk if device else None,
        device=device.number if device else "",
        serial=device.serial if device else "",
        kind=device.kind if device else "",
        model=str(device.model) if device and device.model else "",
        fitted_on=spell.installed_on if spell else None,
        owes=line.activity if line else "",
        due_on=line.due_on if line else None,
        due_status=status_of(line.state, line.due_on, line.deferred_until, seen) if line else "",
    )
