"""The register of devices, and where each one is."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.db.models import F, QuerySet

from fleet.calc.units import Quantity
from fleet.models import Device, Installation, User
from fleet.reports.register_ask import Asked, named

DEVICE_COLUMNS = (
    *("site", "device", "serial", "maker", "model", "kind", "orifice", "nameplate_set"),
    *("status", "tag", "unit", "fitted_on", "shelf_expires_on"),
)
DEVICE_SORTS = {
    "device": "number",
    "serial": "serial",
    "model": "model__name",
    "kind": "kind",
    "status": "status",
    "shelf_expires_on": "shelf_expires_on",
}


@dataclass(frozen=True)
class DeviceRow:
    pk: int
    site: str
    device: str
    serial: str
    maker: str
    model: str
    kind: str
    orifice: str
    nameplate_set: Quantity | None
    status: str
    position_pk: int | None
    tag: str
    unit: str
    fitted_on: date | None
    shelf_expires_on: date | None

    def as_dict(self) -> dict:
        return {name: getattr(self, name) for name in DEVICE_COLUMNS}


@dataclass(frozen=True)
class Devices:
    """Devices a user may see, and where each is."""

    user: User
    asked: Asked

    @cached_property
    def matching(self) -> QuerySet[Device]:
        rows, asked = Device.objects.visible_to(self.user), self.asked
        exact = {"site": asked.site, "kind": asked.kind, "status": asked.status}
        rows = rows.filter(**{name: value for name, value in exact.items() if value})
        standing = Installation.objects.standing()
        if asked.unit:
            here = standing.filter(position__unit=asked.unit)
            rows = rows.filter(pk__in=here.values("device"))
        if asked.place == "fitted":
            rows = rows.filter(pk__in=standing.values("device"))
        elif asked.place == "loose":
            rows = rows.exclude(pk__in=standing.values("device"))
        return rows.filter(named(asked.find)) if asked.find else rows

    def count(self) -> int:
        return self.matching.count()

    def rows(self, start: int, stop: int | None, sort: str) -> list[DeviceRow]:
        turned, name = sort.startswith("-"), DEVICE_SORTS[sort.lstrip("-")]
        key = F(name).desc(nulls_last=True) if turned else F(name).asc(nulls_last=True)
        rows = self.matching.select_related("site", "model").order_by(key, "number", "pk")
        devices = list(rows[start:stop])
        spells = Installation.objects.standing().filter(device__in=[d.pk for d in devices])
        fitted = {row.device_id: row for row in spells.select_related("position__unit")}
        return [_device_row(device, fitted.get(device.pk), self.user) for device in devices]

    def every_row(self) -> Iterator[dict]:
        for start in range(0, self.count(), 1000):
            yield from (row.as_dict() for row in self.rows(start, start + 1000, "device"))


def _device_row(device: Device, spell: Installation | None, user: User) -> DeviceRow:
    seen = spell if spell and spell.position.site_id in user.site_ids() else None
    return DeviceRow(
        pk=device.pk,
        site=device.site.name if device.site else "",
        device=device.number,
        serial=device.serial,
        maker=device.model.maker if device.model else "",
        model=device.model.name if device.model else "",
        kind=device.kind,
        orifice=device.orifice,
        nameplate_set=device.nameplate_set,
        status=device.status,
        position_pk=seen.position_id if seen else None,
        tag=seen.position.tag if seen else "",
        unit=seen.position.unit.name if seen else "",
        fitted_on=spell.installed_on if spell else None,
        shelf_expires_on=device.shelf_expires_on,
    )
