"""Can the turns recorded have given the pressures, and the counts the heights, that were recorded?

Pressure per turn = spring rate x screw lead / seat area (statics of a spring on a disc; the
worked figure 2,000 lb/in, 8 threads/in, 2.000 in seat -> 79.58 psi per turn). It is an estimate,
generous by a factor of two either way: it questions a record and never sets a valve.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import pi

from fleet.calc.units import TURNS, Quantity
from inspections.calc.crosscheck import Method, Thread, mismatch
from inspections.calc.flags import IMPLAUSIBLE, Flag, Looking
from inspections.calc.movements import RESET, Series
from inspections.calc.readings import SettingValue, resolution_of, shown, signed
from inspections.calc.visits import Overhaul, Reading

FACTOR = 2
INWARD = {"in": 1, "out": -1}  # turning in compresses the spring; other words say no direction


@dataclass(frozen=True)
class Spring:
    """Rate (force per length), lead (advance of the screw a turn) and seat diameter."""

    rate: Quantity
    lead: Quantity
    seat_diameter: Quantity


def pressure_per_turn(spring: Spring, unit: str = "psig") -> Fraction:
    """Change of set pressure for one turn in, in `unit` (a gauge pressure)."""
    diameter = spring.seat_diameter.to("in").magnitude
    area = Fraction(pi) / 4 * diameter * diameter
    psi = spring.rate.to("lb/in").magnitude * spring.lead.to("in").magnitude / area
    return Quantity.of(psi, "psig").to(unit).magnitude


def screw_flag(screw: Series, pressure: Series, spring: Spring, looking: Looking) -> Flag | None:
    """`implausible` for the compression screw, from its series and the pops' own.

    Looks at the shop resets of the last overhauls where both were recorded, and asks nothing
    where the setting point's positive word gives no direction or the screw is not in turns.
    """
    pops = {(visit.on, visit.ref): visit for visit in pressure.overhauls}
    recent = {visit.ref for visit in screw.overhauls[-looking.overhauls :]}
    found = tuple(
        reason
        for step in screw.steps
        if step.kind == RESET and step.change is not None and step.end.ref in recent
        if (visit := pops.get((step.end.on, step.end.ref))) is not None
        for reason in _disagreement(step.change, visit, spring, looking)
    )
    return Flag(IMPLAUSIBLE, found) if found else None


def _disagreement(
    turned: Quantity, visit: Overhaul, spring: Spring, looking: Looking
) -> Iterator[str]:
    """Beyond a factor of two, one step of the screw's reading and half the band's width."""
    before, left = _before_turning(visit), visit.as_left
    step = resolution_of(turned, looking.resolution)
    inward = INWARD.get(looking.positive)
    if before is None or left is None or visit.renewed or turned.dimension != TURNS:
        return
    if inward is None or step is None or left.no_lift or left.band is None:
        return
    unit = left.quantity.unit
    per_turn = inward * pressure_per_turn(spring, unit)
    rose = left.quantity - before
    few, many = sorted(per_turn * (turned.magnitude + way * step.magnitude) for way in (-1, 1))
    slack = abs((left.band.high - left.band.low).to(unit).magnitude) / 2
    lowest = (few / FACTOR if few > 0 else few * FACTOR) - slack
    highest = (many * FACTOR if many > 0 else many / FACTOR) + slack
    if not lowest <= rose.magnitude <= highest:
        expected = Quantity.of(per_turn * turned.magnitude, unit)
        yield (
            f"{signed(turned)} of the screw should change the pop by about {signed(expected, 0)},"
            f" but it went from {shown(before)} to {shown(left.quantity)},"
            f" {visit.on} ({visit.ref})"
        )


def height_flag(
    counted: Series, measured: Series, thread: Thread, looking: Looking, beside: Looking
) -> Flag | None:
    """`implausible` for a setting counted in notches or turns, against its own measured height.

    As found to as left of the last overhauls where all four readings are there; `beside` is what
    the setting point of the height says.
    """
    heights = {visit.ref: visit for visit in measured.overhauls}
    found = []
    for visit in counted.overhauls[-looking.overhauls :]:
        other = heights.get(visit.ref)
        if other is None or visit.renewed:
            continue
        words = mismatch(_method(visit, looking), _method(other, beside), thread)
        if words:
            found.append(f"{words}, {visit.on} ({visit.ref})")
    return Flag(IMPLAUSIBLE, tuple(found)) if found else None


def _method(visit: Overhaul, looking: Looking) -> Method:
    before, after = (_value(reading) for reading in (visit.as_found, visit.as_left))
    return Method(before, after, looking.positive, looking.resolution)


def _value(reading: Reading | None) -> SettingValue:
    if reading is None:
        return SettingValue(None, "", "")
    return SettingValue(reading.quantity, reading.datum, reading.quantity.dimension)


def _before_turning(visit: Overhaul) -> Quantity | None:
    """The last pop before anyone turned the screw: deposits that held the first one are gone."""
    if visit.later_pops:
        return visit.later_pops[-1]
    return visit.as_found.quantity if visit.as_found and not visit.as_found.no_lift else None
