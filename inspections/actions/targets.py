"""What each setting is to be restored to: the last verified as-left, with its datum and source."""

from dataclasses import dataclass
from datetime import date

from fleet.calc.units import LENGTH, NOTCHES, TURNS, Quantity
from inspections.calc.readings import Comparison, SettingValue, compare
from inspections.models import Inspection, SettingPoint, SettingReading, Stage

USUAL_UNIT = {NOTCHES: "notches", TURNS: "turns", LENGTH: "in"}
SCREW = "compression_screw"  # must move when set pressure is restored: never needs an excuse


@dataclass(frozen=True)
class Target:
    """One setting of a device: how it is counted, and the last value it was left at, if any."""

    setting: str
    measure: str
    datum: str
    positive: str
    resolution: Quantity | None
    required: bool
    value: Quantity | None = None
    value_datum: str = ""
    left_on: date | None = None
    ref: str = ""
    inspection_id: int | None = None

    @property
    def words(self) -> str:
        return self.setting.replace("_", " ")

    @property
    def unit(self) -> str:
        """The unit a bare number is taken in: the target's own, else the measure's usual one."""
        return self.value.unit if self.value else USUAL_UNIT[self.measure]

    @property
    def needs_reason(self) -> bool:
        return self.setting != SCREW

    def compared(self, value: Quantity | None, datum: str) -> Comparison:
        """An as-left value against this target, in the target's unit and datum."""
        return compare(
            SettingValue(value, datum or self.datum, self.measure),
            SettingValue(self.value, self.value_datum, self.measure),
            self.setting,
            self.resolution,
            self.positive,
        )


def targets_of(inspection: Inspection) -> list[Target]:
    """Every setting of the device's model and every one it was ever left at, in two queries."""
    last = _last_left(inspection)
    points = {}
    if inspection.device.model_id:
        rows = SettingPoint.objects.filter(model=inspection.device.model_id)
        points = {point.setting: point for point in rows.order_by("pk")}
    names = [*points, *sorted(set(last) - set(points))]
    return [_target(name, points.get(name), last.get(name)) for name in names]


def _last_left(inspection: Inspection) -> dict[str, SettingReading]:
    readings = (
        SettingReading.objects.filter(
            inspection__device=inspection.device_id, stage=Stage.AS_LEFT, value__isnull=False
        )
        .filter(inspection__in=Inspection.objects.standing())
        .exclude(inspection=inspection.pk)
        .select_related("inspection")
        .order_by("inspection__done_on", "inspection_id")
    )
    if inspection.done_on:
        readings = readings.filter(inspection__done_on__lte=inspection.done_on)
    return {reading.setting: reading for reading in readings}


def _target(name: str, point: SettingPoint | None, left: SettingReading | None) -> Target:
    point_datum, left_datum = point.datum if point else "", left.datum if left else ""
    value = left.value if left else None
    measure = point.measure if point else value.dimension if value else ""
    return Target(
        setting=name,
        measure=measure,
        datum=point_datum or left_datum,
        positive=point.positive if point else "",
        resolution=point.resolution if point else None,
        required=point.required if point else False,
        value=value,
        value_datum=(left_datum or point_datum) if left else "",
        left_on=left.inspection.done_on if left else None,
        ref=left.inspection.ref if left else "",
        inspection_id=left.inspection_id if left else None,
    )
