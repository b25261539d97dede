"""What the standing records of devices say of each of their settings, oldest visit first.

Loads a fixed number of queries, whatever the number of devices; the arithmetic is that of
`inspections.calc`. A record without a day cannot stand in a series and is left out.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet

from fleet.calc.units import Quantity
from fleet.models import Device, User
from inspections.actions.assess import POPPED
from inspections.calc.movements import Series, series
from inspections.calc.parts import RENEWED
from inspections.calc.verdicts import Band
from inspections.calc.visits import SET_PRESSURE, Overhaul, Reading
from inspections.models import (
    Disposition,
    Finding,
    Inspection,
    PopTest,
    SettingPoint,
    SettingReading,
    Stage,
)

STRIPPED = "overhaul"  # nothing is stripped without its rings and screw being moved
NOT_BACK = {Disposition.SCRAPPED, Disposition.REPLACED, Disposition.RETURNED_UNTESTED}
# A new disc moves what is counted from it; a new spring changes the pressure and its screw only.
MOVED_BY = {"disc": None, "spring": {SET_PRESSURE, "compression_screw"}}


class Sheet(NamedTuple):
    """The lines of an inspection that a series needs."""

    pk: int
    ref: str
    device: int
    activity: str
    on: date
    method: str
    waived_reason: str
    disposition: str


class Read(NamedTuple):
    """One reading of a setting; rows are many, so no model instance is made of them."""

    inspection_id: int
    setting: str
    stage: str
    value: Quantity | None
    datum: str
    missing_reason: str


@dataclass(frozen=True)
class DeviceHistory:
    """One device: what its model can be set to, and the series of every setting ever read.

    `records`: the primary key of each record by its ref.
    """

    device: Device
    points: Mapping[str, SettingPoint]
    series: Mapping[str, Series]
    records: Mapping[str, int]


@dataclass(frozen=True)
class _Readings:
    """What was read on the records, by inspection."""

    pops: Mapping[int, list[PopTest]]
    settings: Mapping[int, list[Read]]
    findings: Mapping[int, list[Finding]]


def histories(devices: QuerySet[Device], as_of: date) -> list[DeviceHistory]:
    """One history for each of these devices that has a standing record dated by that day."""
    sheets = Inspection.objects.standing().filter(done_on__lte=as_of, device__in=devices)
    read = _read(sheets)
    by_device: dict[int, list[Sheet]] = defaultdict(list)
    for row in sheets.order_by("done_on", "ref").values_list(
        *("pk", "ref", "device", "activity", "done_on", "method", "waived_reason", "disposition")
    ):
        by_device[row[2]].append(Sheet(*row))
    points: dict[int | None, dict[str, SettingPoint]] = defaultdict(dict)
    for point in SettingPoint.objects.order_by("pk"):
        points[point.model_id][point.setting] = point
    return [
        _history(device, points[device.model_id], by_device[device.pk], read)
        for device in devices.select_related("model", "site").order_by("number")
        if device.pk in by_device
    ]


def undated_count(user: User | None) -> int:
    """How many standing records of devices that a user may see (None: of all) have no day."""
    rows = Inspection.objects.standing().filter(done_on=None)
    if user is not None:
        rows = rows.filter(Q(device__site__in=user.site_ids()) | Q(device__site=None))
    return rows.count()


def _read(sheets: QuerySet[Inspection]) -> _Readings:
    ids = sheets.values("pk")
    renewed = Q(part__iexact="disc") | Q(part__iexact="spring")
    return _Readings(
        _grouped(PopTest.objects.filter(inspection__in=ids, stage__in=Stage).order_by("order")),
        _grouped(
            Read(*row)
            for row in SettingReading.objects.filter(inspection__in=ids).values_list(*Read._fields)
        ),
        _grouped(Finding.objects.filter(renewed, inspection__in=ids).order_by("pk")),
    )


def _grouped(rows: Iterable[Any]) -> dict[int, list[Any]]:
    groups = defaultdict(list)
    for row in rows:
        groups[row.inspection_id].append(row)
    return groups


def _history(
    device: Device, points: Mapping[str, SettingPoint], sheets: Sequence[Sheet], read: _Readings
) -> DeviceHistory:
    ever_read = {reading.setting for sheet in sheets for reading in read.settings.get(sheet.pk, ())}
    names = [*points, *sorted(ever_read - set(points))]
    found = {SET_PRESSURE: series(SET_PRESSURE, list(_pop_visits(sheets, read)))}
    for name in names:
        found[name] = series(name, list(_visits(name, points.get(name), sheets, read)))
    told = {name: one for name, one in found.items() if one.overhauls}
    return DeviceHistory(device, points, told, {sheet.ref: sheet.pk for sheet in sheets})


def _pop_visits(sheets: Iterable[Sheet], read: _Readings) -> Iterator[Overhaul]:
    """Visits that popped the device or should have."""
    for sheet in sheets:
        pops = read.pops.get(sheet.pk, [])
        if not pops and sheet.activity not in POPPED:
            continue
        found = [pop for pop in pops if pop.stage == Stage.AS_FOUND]
        left = [pop for pop in pops if pop.stage == Stage.AS_LEFT]
        first = found[0] if found else None
        missing = f"test waived, {sheet.waived_reason}" if sheet.waived_reason else ""
        if first is not None and first.pressure is None:
            missing = first.get_result_display()
        yield Overhaul(
            sheet.ref,
            sheet.on,
            _pop(first),
            _pop(left[-1] if left else None),
            method=sheet.method,
            later_pops=tuple(pop.pressure for pop in found[1:] if pop.pressure and not pop.bound),
            renewed=_renewed(SET_PRESSURE, read.findings.get(sheet.pk, ())),
            missing_reason=missing,
            goes_back=sheet.disposition not in NOT_BACK,
        )


def _pop(pop: PopTest | None) -> Reading | None:
    if pop is None or pop.pressure is None:
        return None
    low, high = pop.band_low, pop.band_high
    band = None if low is None or high is None else Band(low, high)
    no_lift = pop.bound == PopTest.Bound.ABOVE
    return Reading(pop.pressure, no_lift=no_lift, cdtp=pop.reference, band=band)


def _visits(
    name: str, point: SettingPoint | None, sheets: Iterable[Sheet], read: _Readings
) -> Iterator[Overhaul]:
    """Visits that read the setting, and every overhaul: one that did not say hides what it did."""
    for sheet in sheets:
        readings = {
            reading.stage: reading
            for reading in read.settings.get(sheet.pk, ())
            if reading.setting == name
        }
        if not readings and sheet.activity != STRIPPED:
            continue
        reasons = dict.fromkeys(r.missing_reason for r in readings.values() if r.missing_reason)
        yield Overhaul(
            sheet.ref,
            sheet.on,
            _setting(readings.get(Stage.AS_FOUND), point),
            _setting(readings.get(Stage.AS_LEFT), point),
            method=sheet.method,
            renewed=_renewed(name, read.findings.get(sheet.pk, ())),
            missing_reason=", ".join(reasons),
            goes_back=sheet.disposition not in NOT_BACK,
        )


def _setting(reading: Read | None, point: SettingPoint | None) -> Reading | None:
    if reading is None or reading.value is None:
        return None
    value: Quantity = reading.value
    return Reading(value, datum=reading.datum or (point.datum if point else ""))


def _renewed(setting: str, findings: Iterable[Finding]) -> str:
    """`new spring` where a finding says a part was renewed that this setting stands on."""
    for finding in findings:
        part = finding.part.strip().casefold()
        settings = MOVED_BY.get(part, set())
        if RENEWED.search(finding.action) and (settings is None or setting in settings):
            return f"new {part}"
    return ""
