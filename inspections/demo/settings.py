"""Rings, screws and clearances as found and as left, typed the way people type them."""

from datetime import date
from fractions import Fraction

from inspections.demo import plan
from inspections.demo.catalog import Point, unit_word
from inspections.demo.devices import FREE_STEPS, Device
from inspections.demo.dice import Dice
from inspections.demo.people import MECHANICS
from inspections.demo.pops import Pops

SCREW = "compression_screw"
SHIFT_IN_SERVICE, LEFT_ELSEWHERE = 3.0, 1.2  # percent of readings
WHY_MOVED = (
    "blowdown instruction of the area engineer",
    "ring set from contact again after lapping",
    "simmer heard on the bench",
)
WHY_RESTLESS = ("simmered, brought down a little", "blowdown too long", "set by feel")

Rows = list[dict[str, object]]


def typed(point: Point, steps: int) -> str:
    """`-7 notches`, `15 1/4 turns`, `5/16 in`, `12.5 mm`."""
    value = point.step * steps
    if point.unit == "mm":
        return f"{float(value):g} mm"
    whole, part = divmod(abs(value), 1)
    sign = "-" if value < 0 else ""
    words = [str(whole)] if whole or not part else []
    words += [f"{part.numerator}/{part.denominator}"] if part else []
    return f"{sign}{' '.join(words)} {unit_word(point.unit, abs(value))}"


def as_delivered(device: Device) -> Rows:
    """The maker's sheet: each setting as left."""
    points = device.model.points
    return [_row(device, p, "as_left", device.settings[p.setting]) for p in points]


def visit(device: Device, on: date, pops: Pops) -> Rows:
    """One strip on the bench; moves the device's own settings to where they were left."""
    rows: Rows = []
    for point in device.model.points:
        dice = Dice("settings", device.number, on, point.setting)
        found = device.settings[point.setting] + _shift(device, point, dice)
        rows.append(_row(device, point, "as_found", found))
        left, reason = _left(device, point, found, on, pops, dice)
        rows.append(_row(device, point, "as_left", left) | reason)
        device.settings[point.setting] = left
    return rows


def screw_only(device: Device, pops: Pops) -> Rows:
    """What is read when a valve is adjusted in place: the screw, before and after."""
    rows: Rows = []
    for point in device.model.points:
        if point.setting == SCREW:
            found = device.settings[point.setting]
            device.settings[point.setting] = left = found + _screw(point, found, pops)
            rows.append(_row(device, point, "as_found", found))
            rows.append(_row(device, point, "as_left", left))
    return rows


def _shift(device: Device, point: Point, dice: Dice) -> int:
    """What vibration did since the last visit: nothing, nearly always."""
    steady = point.setting == SCREW or device.number in plan.RESTLESS
    return 0 if steady or not dice.chance(SHIFT_IN_SERVICE) else dice.pick((-1, 1))


def _left(
    device: Device, point: Point, found: int, on: date, pops: Pops, dice: Dice
) -> tuple[int, dict[str, object]]:
    """Where it was left, and who moved it and why if it is not where it belonged."""
    target = device.settings[point.setting]
    if point.setting == SCREW:
        return found + _screw(point, found, pops), {}
    if not point.setting.endswith("ring"):
        return target, {}
    if (device.number, on.year) in plan.MACHINED:
        device.datums[point.setting] = f"{point.datum}, {plan.MACHINED[device.number, on.year]}"
        return target + 5, {"note": "Counted again from the machined seat."}
    if device.number in plan.RESTLESS:
        move = dice.whole(2, 5) * (1 if on.year % 2 else -1)
        return target + move, _moved(dice.pick(WHY_RESTLESS), plan.RESTLESS[device.number])
    if dice.chance(LEFT_ELSEWHERE):
        return target + dice.pick((-1, 1)), _moved(dice.pick(WHY_MOVED), dice.pick(MECHANICS))
    return target, {}


def _moved(reason: str, by: str) -> dict[str, object]:
    return {"changed_reason": reason, "changed_by": by}


def _screw(point: Point, found: int, pops: Pops) -> int:
    """Steps of screw that bring the last unadjusted pop to the one as left."""
    if not pops.adjusted:
        return 0
    change = Fraction(pops.left - pops.found[-1], 10_000)
    if point.positive == "in":
        return round(change * max(found - FREE_STEPS, 8))
    return -round(change * 40)


def _row(device: Device, point: Point, stage: str, steps: int) -> dict[str, object]:
    return {
        "setting": point.setting,
        "stage": stage,
        "value": typed(point, steps),
        "datum": device.datums.get(point.setting, ""),
    }
