"""The settings review: one row per device and setting, with what its record plainly shows.

Flags of `review` are facts, each with its reason; what a screening of the fleet finds is laid on by
`raising`. `unit` is the unit of the
movements and of the drift: that of the readings, and percent of the cold test pressure for pops.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import QuerySet

from fleet.models import Device, Site, User
from inspections.actions.targets import USUAL_UNIT
from inspections.calc.flags import (
    COMMON_CAUSE,
    DATUM_CHANGED,
    IMPLAUSIBLE,
    MOVED_IN_SERVICE,
    OUT_OF_TOLERANCE,
    RECORD_MISSING,
    RESET_REPEATEDLY,
    RESETS_ABOVE_FLEET,
    STICKING,
    TRENDING,
    Flag,
    Looking,
)
from inspections.calc.movements import SERVICE, Series, Step
from inspections.calc.readings import signed
from inspections.calc.series_numbers import Numbers, numbers_of
from inspections.calc.verdicts import round_half_away
from inspections.calc.visits import SET_PRESSURE, Reading
from inspections.models import Acknowledgement, SettingPoint
from inspections.reports.histories import DeviceHistory, histories, undated_count
from inspections.reports.places import Stand, stands
from inspections.reports.raised import flags_in, looking_at

# What weighs more stands higher in the list; each reason counts once. One bad pop gives two
# reasons (found out, moved there); resets of three visits or more are one.
WEIGHTS = {
    OUT_OF_TOLERANCE: 4,
    MOVED_IN_SERVICE: 4,
    STICKING: 3,
    IMPLAUSIBLE: 6,
    RESET_REPEATEDLY: 8,
    RECORD_MISSING: 2,
    DATUM_CHANGED: 1,
    TRENDING: 8,
    RESETS_ABOVE_FLEET: 6,
    COMMON_CAUSE: 5,
}
STATISTICS = {TRENDING, RESETS_ABOVE_FLEET, COMMON_CAUSE}


@dataclass(frozen=True)
class SettingRow:
    """One setting of one device; the fields down to `reason` are the columns of every export.

    tag: where the device is, or last was. The `last_*` values are the last visit's own: what it
    did not record is empty, never an older reading.
    """

    site: str
    tag: str
    device: str
    serial: str
    model: str
    setting: str
    unit: str
    datum: str
    n: int
    last_as_found: str
    last_as_left: str
    last_service_movement: str
    last_shop_reset: str
    last_deviation_percent: Decimal | None
    drift_per_year: Decimal | None
    trend_p: Decimal | None
    out_of_tolerance_count: int | None
    flags: tuple[str, ...]
    reason: str
    raised: tuple[Flag, ...]
    stand: Stand | None
    one: Series
    history: DeviceHistory
    looking: Looking
    answered: Mapping[str, Acknowledgement] = field(default_factory=dict)  # by the flag's code

    @property
    def device_id(self) -> int:
        return self.history.device.pk

    @property
    def model_id(self) -> int | None:
        return self.history.device.model_id

    @property
    def site_id(self) -> int | None:
        """Where it is or last was; the home of one that was never fitted."""
        return self.stand.site_id if self.stand else self.history.device.site_id

    @property
    def point(self) -> SettingPoint | None:
        return self.history.points.get(self.setting)

    @property
    def weight(self) -> int:
        """What has been answered weighs nothing until it rests on something else."""
        return sum(weight_of(f.code, f.reasons) for f in self.raised if f.code not in self.answered)

    @property
    def numbers(self) -> Numbers:
        return numbers_of(self.one, self.looking)

    def raising(
        self, flags: Iterable[Flag], answered: Mapping[str, Acknowledgement] | None = None
    ) -> "SettingRow":
        """The same row with these flags besides its own, and what was answered."""
        raised = (*self.raised, *flags)
        return replace(self, raised=raised, answered=answered or {}, **_said(raised))

    def as_dict(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in COLUMNS}


COLUMNS = tuple(SettingRow.__dataclass_fields__)[:19]


def review(as_of: date, devices: QuerySet[Device]) -> list[SettingRow]:
    """The rows of these devices as of a day: flagged ones first, the worst device foremost."""
    where, sites = stands(devices, as_of), Site.objects.in_bulk()
    rows = [
        row
        for history in histories(devices, as_of)
        for row in _rows(history, where.get(history.device.pk), sites)
    ]
    return worst_first(rows)


def weight_of(code: str, reasons: Sequence[str]) -> int:
    """A statistic weighs the same however long its reason is."""
    return WEIGHTS[code] * (1 if code in STATISTICS else len(reasons))


def worst_first(rows: Iterable[SettingRow]) -> list[SettingRow]:
    """Flagged rows, then the others: each by the weight of their device, then by how far its last
    pop was out. `SettingState` is kept in the same order."""
    rows = list(rows)
    weights: dict[int, int] = defaultdict(int)
    far: dict[int, Fraction] = defaultdict(Fraction)
    for row in rows:
        weights[row.device_id] += row.weight
        far[row.device_id] = max(far[row.device_id], abs(row.one.last_deviation or Fraction(0)))

    def key(row: SettingRow) -> tuple:
        badness = (-weights[row.device_id], -far[row.device_id])
        is_setting = row.setting != SET_PRESSURE
        return (not row.raised, *badness, row.device_id, -row.weight, is_setting, row.setting)

    return sorted(rows, key=key)


def devices_for(user: User | None, site: int | None = None) -> QuerySet[Device]:
    """The devices a user may see; without a user (the command line), all."""
    devices = Device.objects.all() if user is None else Device.objects.visible_to(user)
    return devices.filter(site=site) if site else devices


def _rows(
    history: DeviceHistory, stand: Stand | None, sites: Mapping[int, Site]
) -> Iterator[SettingRow]:
    site = sites.get(stand.site_id) if stand else history.device.site
    for name, one in history.series.items():
        looking = looking_at(name, history.points.get(name), site)
        flags = tuple(flags_in(history, one, looking))
        if one.n or flags:
            yield _row(history, one, looking, flags, stand)


def _row(
    history: DeviceHistory,
    one: Series,
    looking: Looking,
    flags: tuple[Flag, ...],
    stand: Stand | None,
) -> SettingRow:
    device, found, is_pops = history.device, one.found_trend, one.setting == SET_PRESSURE
    point = history.points.get(one.setting)
    deviation = one.last_deviation
    return SettingRow(
        site=stand.site if stand else device.site.name if device.site else "",
        tag=stand.tag if stand else "",
        device=device.number,
        serial=device.serial,
        model=str(device.model or ""),
        setting=one.setting,
        unit="%" if is_pops else _unit(one, point),
        datum="" if is_pops else _datum(one, point),
        n=one.n,
        last_as_found=str(one.last_as_found or ""),
        last_as_left=str(one.last_as_left or ""),
        last_service_movement=movement_words(one.last_service_movement),
        last_shop_reset=movement_words(one.last_shop_reset),
        last_deviation_percent=None if deviation is None else round_half_away(deviation, 2),
        drift_per_year=round_half_away(found.per_year, 4) if found else None,
        trend_p=Decimal(f"{found.test.p:.4f}") if found else None,
        out_of_tolerance_count=one.out_of_tolerance_count if is_pops else None,
        raised=flags,
        stand=stand,
        one=one,
        history=history,
        looking=looking,
        **_said(flags),
    )


def _said(flags: Iterable[Flag]) -> dict[str, Any]:
    """The columns that tell the flags."""
    flags = tuple(flags)
    reasons = (f"{flag.code.replace('_', ' ')}: {flag.reason}" for flag in flags)
    return {"flags": tuple(flag.code for flag in flags), "reason": ". ".join(reasons)}


def movement_words(step: Step | None) -> str:
    """`+3 notches`, `-3.10 %`, `more than +9.00 %` where a pop did not lift; "" where cut."""
    if step is None:
        return ""
    moved = step.change or step.bound
    if moved is None:
        return ""
    words = signed(moved)
    if moved.unit == "%":
        words = f"{round_half_away(moved.magnitude, 2):+} %"
    bound = "more than" if step.kind == SERVICE else "less than"
    return f"{bound} {words}" if step.bound else words


def _readings_back(one: Series) -> Iterator[Reading]:
    """Every reading of a series, the latest first."""
    for visit in reversed(one.overhauls):
        yield from (reading for reading in (visit.as_left, visit.as_found) if reading)


def _unit(one: Series, point: SettingPoint | None) -> str:
    last = next(_readings_back(one), None)
    if last is not None:
        return last.quantity.unit
    return USUAL_UNIT[point.measure] if point else ""


def _datum(one: Series, point: SettingPoint | None) -> str:
    last = next(_readings_back(one), None)
    return last.datum if last is not None else point.datum if point else ""


__all__ = ["COLUMNS", "SettingRow", "devices_for", "review", "undated_count"]
