"""How valves open: well-behaved ones near their set, a few not, each in the gauge's own steps."""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from inspections.demo import plan
from inspections.demo.devices import Device
from inspections.demo.dice import Dice
from inspections.demo.plant import Group

WHOLE = 10_000  # deviations are whole hundredths of a percent
SPREAD_FOUND, SPREAD_LEFT, LEFT_LIMIT = 62, 25, 80
ADJUST_BEYOND = 100
STEPS = {  # pressures up to -> the step a person reads
    "psig": ((60, "0.5"), (10_000, "1")),
    "barg": ((8, "0.02"), (10_000, "0.1")),
    "kPag": ((100, "0.1"), (1_000, "1"), (100_000, "5")),
}
RANGES = {
    "psig": (100, 200, 400, 600, 1000, 2000, 3000),
    "barg": (6, 10, 16, 25, 40, 60),
    "kPag": (60, 600, 1000, 1600, 2500, 4000),
}


@dataclass(frozen=True)
class Pops:
    """Deviations from CDTP in 0.01 %: every pop as found in order, and the one as left."""

    found: tuple[int, ...]
    left: int
    adjusted: bool = False


def as_pressure(group: Group, deviation: int) -> str:
    """The pressure a person reads at that deviation, in whole steps of the gauge."""
    exact = group.cdtp * (WHOLE + deviation) / WHOLE
    steps = STEPS[group.unit_of_pressure]
    step = next(Decimal(step) for limit, step in steps if group.set <= limit)
    return group.pressure((exact / step).quantize(Decimal(1), ROUND_HALF_UP) * step)


def throw(device: Device, on: date, *, drift: int = 0, found: int | None = None) -> Pops:
    """The pops of one bench visit; `drift` has been added since the device was last left.

    found: what the first pop is to be, where its diary says; elsewhere in a diary none is far off.
    """
    dice = Dice("pops", device.number, on)
    narrow = 2 if device.group.tolerance == "asme1" and device.group.set > 300 else 1
    weak = device.number in plan.WEAKENING
    first = device.level + drift + dice.bell(12 if weak else SPREAD_FOUND // narrow)
    if dice.chance(5) and not weak and device.group.series == "W":
        first += dice.pick((-1, 1, 1)) * dice.whole(300, 600)
    first += plan.COMMON_CAUSE.get((device.group.tags, on.year), 0)
    first = first if found is None else found
    later = () if abs(first) <= 200 else (first + dice.bell(30), first + dice.bell(30))
    left = max(-LEFT_LIMIT, min(LEFT_LIMIT, dice.bell(SPREAD_LEFT))) // narrow
    if abs(first) <= ADJUST_BEYOND:
        left = max(-ADJUST_BEYOND, min(ADJUST_BEYOND, first + dice.bell(12)))
    return Pops((first, *later), left, adjusted=abs(first) > ADJUST_BEYOND)


def fields(device: Device, pops: Pops, dice: Dice, on: date) -> dict[str, object]:
    group = device.group
    first, *later = (as_pressure(group, deviation) for deviation in pops.found)
    left = as_pressure(group, pops.left)
    return {
        "cold_test_pressure": group.cdtp_text,
        "first_pop": first,
        "first_pop_result": "opened",
        "later_pops": "; ".join(later),
        "as_left_pop": left,
        "reseat": as_pressure(group, pops.left - dice.whole(400, 900)),
        "leak_rate": "" if group.phase == "liquid" else f"{dice.pick((0, 0, 0, 2, 5))} bubbles/min",
        **gauge(group, dice, on),
    }


def gauge(group: Group, dice: Dice, on: date) -> dict[str, object]:
    """A test gauge that holds one and a half times the set pressure."""
    ends = RANGES[group.unit_of_pressure]
    top = next(end for end in ends if end >= group.set * Decimal("1.6"))
    number = ends.index(top) * 3 + dice.whole(1, 3)
    letter = group.unit_of_pressure[0].upper()
    return {
        "gauge": f"TG-{letter}{number:02d}",
        "gauge_range": f"0 to {group.pressure(top)}",
        "gauge_accuracy": "0.1 %",
        "gauge_due_on": calibrated_until(number, on),
    }


def calibrated_until(number: int, on: date) -> date:
    """Gauges go for calibration once a year, each in its own month."""
    month = number % 12 + 1
    this_year = date(on.year, month, 20)
    return this_year if this_year >= on else date(on.year + 1, month, 20)
