"""What each setting is to be restored to: the last verified as-left, with its datum and source.

A later overhaul that left no reading of it may have moved it: the target then says so.
"""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from fleet.calc.units import LENGTH, NOTCHES, TURNS, Quantity
from inspections.calc.readings import Comparison, SettingValue, compare
from inspections.models import Inspection, SettingPoint, SettingReading, Stage

USUAL_UNIT = {NOTCHES: "notches", TURNS: "turns", LENGTH: "in"}
SCREW = "compression_screw"  # must move when set pressure is restored: never needs an excuse


@dataclass(frozen=True)
class Target:
    """One setting of a device: how it is counted, and the last value it was left at, if any.

    silent_on: the last overhaul since, which left no as-left of it; None when there is none.
    """

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
    silent_on: date | None = None

    @property
    def words(self) -> str:
        return self.setting.replace("_", " ")

    @property
    def unit(self) -> str:
        """The unit a bare number is taken in: the target's own, else the measure's usual one."""
        return self.value.unit if self.value else USUAL_UNIT[self.measure]

    @property
    def caution(self) -> str:
        """What the mechanic must know before this target is believed, or ""."""
        if self.silent_on is None:
            return ""
        return (
            f"no as-left in the last overhaul, on {self.silent_on}:"
            " where it stands now was not written down"
        )

    @property
    def is_known(self) -> bool:
        """Must it be read? The model asks for it, or it was set before."""
        return self.required or self.value is not None

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
    """Every setting of the device's model and every one it was ever left at, in three queries."""
    earlier = _earlier(inspection)
    last = _last_left(earlier)
    silent = earlier.filter(activity="overhaul").order_by("done_on", "pk").last()
    points = {}
    if inspection.device.model_id:
        rows = SettingPoint.objects.filter(model=inspection.device.model_id)
        points = {point.setting: point for point in rows.order_by("pk")}
    names = [*points, *sorted(set(last) - set(points))]
    return [_target(name, points.get(name), last.get(name), silent) for name in names]


def _earlier(inspection: Inspection) -> QuerySet[Inspection]:
    """The device's standing records before this one, without the one it corrects."""
    rows = Inspection.objects.standing().filter(device=inspection.device_id)
    if inspection.done_on:
        same_day = Q(done_on=inspection.done_on)
        if inspection.pk:
            same_day &= Q(pk__lt=inspection.pk)
        rows = rows.filter(Q(done_on__lt=inspection.done_on) | same_day)
    return rows.exclude(pk__in=[pk for pk in (inspection.pk, inspection.corrects_id) if pk])


def _last_left(earlier: QuerySet[Inspection]) -> dict[str, SettingReading]:
    readings = (
        SettingReading.objects.filter(inspection__in=earlier, stage=Stage.AS_LEFT)
        .exclude(value=None)
        .select_related("inspection")
        .order_by("inspection__done_on", "inspection_id")
    )
    return {reading.setting: reading for reading in readings}


def _is_silent(last: Inspection | None, left: SettingReading | None) -> bool:
    if last is None or left is None:
        return False
    mine, its = left.inspection, (last.done_on or date.min, last.pk)
    return its > (mine.done_on or date.min, mine.pk)


def _target(
    name: str, point: SettingPoint | None, left: SettingReading | None, last: Inspection | None
) -> Target:
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
        silent_on=last.done_on if last and _is_silent(last, left) else None,
    )
