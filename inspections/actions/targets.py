"""What each setting is to be restored to, with its datum and source.

An instruction that an engineer signed, in force on the day, outranks the last verified as-left;
both are kept, with their difference. A later overhaul that left no reading of it may have moved
it: the last as-left then says so. What a locked record was held to is what was known when it was
signed.
"""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, QuerySet

from fleet.calc.units import LENGTH, NOTCHES, TURNS, Quantity
from inspections.actions.instructions import in_force
from inspections.calc.naming import SCREW, words_of
from inspections.calc.readings import (
    EQUAL,
    NOT_COMPARABLE,
    Comparison,
    DatumChange,
    SettingValue,
    beyond,
    compare,
    signed,
)
from inspections.models import Inspection, Instruction, SettingPoint, SettingReading, Stage

USUAL_UNIT = {NOTCHES: "notches", TURNS: "turns", LENGTH: "in"}


@dataclass(frozen=True)
class Target:
    """One setting of a device: how it is counted, what it was last left at, what it is held to.

    value, value_datum: what it is held to: the instruction's, else what it was left at.
    silent_on: the last overhaul since it was left so, which left no as-left of it.
    """

    setting: str
    measure: str
    datum: str
    positive: str
    resolution: Quantity | None
    required: bool
    point: SettingPoint | None = None
    instruction: Instruction | None = None
    left: SettingReading | None = None
    silent_on: date | None = None

    @property
    def words(self) -> str:
        return words_of(self.setting)

    @property
    def value(self) -> Quantity | None:
        return self.instruction.value if self.instruction else self.left_value

    @property
    def value_datum(self) -> str:
        return self.instruction.datum if self.instruction else self.left_datum

    @property
    def left_value(self) -> Quantity | None:
        return self.left.value if self.left else None

    @property
    def left_datum(self) -> str:
        if self.left is None:
            return ""
        return self.left.datum or (self.point.datum if self.point else "")

    @property
    def left_on(self) -> date | None:
        return self.left.inspection.done_on if self.left else None

    @property
    def ref(self) -> str:
        return self.left.inspection.ref if self.left else ""

    @property
    def inspection_id(self) -> int | None:
        return self.left.inspection_id if self.left else None

    @property
    def unit(self) -> str:
        """The unit a bare number is taken in: the target's own, else the measure's usual one."""
        if self.value and self.value.dimension == self.measure:
            return self.value.unit
        return USUAL_UNIT[self.measure]

    @property
    def caution(self) -> str:
        """What the mechanic must know before the last as-left is believed, or ""."""
        if self.silent_on is None:
            return ""
        return (
            f"no as-left in the last overhaul, on {self.silent_on}:"
            " where it stands now was not written down"
        )

    @property
    def is_known(self) -> bool:
        """Must it be read? The model asks for it, it was set before, or is to be set."""
        return self.required or self.value is not None

    @property
    def needs_reason(self) -> bool:
        return self.setting != SCREW

    @property
    def moved(self) -> Comparison | None:
        """The instruction against the last as-left, where there are both."""
        if self.instruction is None or self.left is None:
            return None
        return self._compared(self.instruction.value, self.instruction.datum, self._left())

    @property
    def moved_words(self) -> str:
        """How the instruction differs from the last as-left: `+2 notches against that`."""
        moved = self.moved
        if moved is None or moved.kind == NOT_COMPARABLE or moved.difference is None:
            return moved.words if moved else ""
        if moved.kind == EQUAL:
            return "equal to that"
        return f"{signed(moved.difference)} against that"

    def beyond(self, value: Quantity | None, datum: str) -> str:
        """Outside what the model allows, as its source says, or ""; judged in the model's datum."""
        if self.point is None:
            return ""
        mine = SettingValue(value, datum or self.datum, self.measure)
        low, high = (
            SettingValue(end, self.point.datum, self.measure)
            for end in (self.point.limit_low, self.point.limit_high)
        )
        words = beyond(mine, low, high)
        return f"{words} ({self.point.source})" if words else ""

    def compared(
        self, value: Quantity | None, datum: str, why: str = "", on: date | None = None
    ) -> Comparison:
        """An as-left value against this target, in the target's unit and datum.

        why, on: what moved the datum at this very reading, and its day.
        """
        held = SettingValue(self.value, self.value_datum, self.measure)
        return self._compared(value, datum or self.datum, held, self._changed(why, on))

    def _compared(
        self,
        value: Quantity | None,
        datum: str,
        held: SettingValue,
        changed: DatumChange | None = None,
    ) -> Comparison:
        mine = SettingValue(value, datum, self.measure)
        return compare(mine, held, self.setting, self.resolution, self.positive, changed)

    def _left(self) -> SettingValue:
        return SettingValue(self.left_value, self.left_datum, self.measure)

    def _changed(self, why: str, on: date | None) -> DatumChange | None:
        if why and on:
            return DatumChange(on, why)
        if self.instruction is None and self.left is not None and self.left.datum_reason:
            return DatumChange(self.left_on, self.left.datum_reason) if self.left_on else None
        return None


def targets_of(inspection: Inspection) -> list[Target]:
    """Every setting of the device's model, every one it was ever left at, and every one that is
    instructed, in four queries."""
    earlier = _earlier(inspection)
    last = _last_left(earlier)
    silent = earlier.filter(activity="overhaul").order_by("done_on", "pk").last()
    told = in_force(inspection.device_id, inspection.done_on, _known_at(inspection))
    points = {}
    if inspection.device.model_id:
        rows = SettingPoint.objects.filter(model=inspection.device.model_id)
        points = {point.setting: point for point in rows.order_by("pk")}
    names = [*points, *sorted((set(last) | set(told)) - set(points))]
    return [
        _target(name, points.get(name), told.get(name), last.get(name), silent) for name in names
    ]


def _known_at(inspection: Inspection) -> datetime | None:
    """A signed record was held to what was known then; an open one to what is known now."""
    return inspection.signed_at or inspection.locked_at


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
    name: str,
    point: SettingPoint | None,
    told: Instruction | None,
    left: SettingReading | None,
    last: Inspection | None,
) -> Target:
    value = (told and told.value) or (left and left.value)
    measure = point.measure if point else value.dimension if value else ""
    return Target(
        setting=name,
        measure=measure,
        datum=point.datum if point else told.datum if told else left.datum if left else "",
        positive=point.positive if point else "",
        resolution=point.resolution if point else None,
        required=point.required if point else False,
        point=point,
        instruction=told,
        left=left,
        silent_on=last.done_on if last and _is_silent(last, left) else None,
    )
