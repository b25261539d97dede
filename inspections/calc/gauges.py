"""Was the pressure read on an instrument fit for it?

Sources: API RP 576 6.2.9 and the finding of a US plant inspection that accuracy should be no
worse than a quarter of the tolerance tested.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleet.calc.units import GAUGE, PERCENT, Quantity, UnitsError, parse_quantity
from inspections.calc.verdicts import Band

QUARTER = Fraction(1, 4)

# "0 to 300 psig", "0-300 psig", "-1..10 barg": the unit may stand once, after the high end.
_RANGE = re.compile(r"(?P<low>.+?)\s*(?:to|\.\.\.?|[-\u2013;])\s*(?P<high>\S.*)")
_OF_SPAN = re.compile(r"\s*(?:FS|of (?:span|full scale|range))\s*$", re.IGNORECASE)


@dataclass(frozen=True)
class Gauge:
    """A gauge as recorded; None is not recorded. `accuracy` is a pressure or percent of span."""

    low: Quantity | None
    high: Quantity | None
    accuracy: Quantity | None
    due_on: date | None


def gauge_of(range_typed: str, accuracy_typed: str, due_on: date | None) -> Gauge:
    """A gauge from its record as typed; what is empty stays None. Raises UnitsError."""
    low = high = accuracy = None
    if range_typed.strip():
        ends = _RANGE.fullmatch(range_typed.strip())
        if not ends:
            raise UnitsError(range_typed, "a range such as 0 to 300 psig")
        high = parse_quantity(ends["high"], (GAUGE,))
        low = parse_quantity(ends["low"], (GAUGE,), header_unit=high.unit)
        if high < low:  # a vacuum gauge is often written from zero down
            low, high = high, low
    if accuracy_typed.strip():
        accuracy = parse_quantity(_OF_SPAN.sub("", accuracy_typed), (PERCENT, GAUGE))
    return Gauge(low, high, accuracy, due_on)


def gauge_questions(
    gauge: Gauge, readings: Sequence[Quantity], band: Band | None, on: date
) -> tuple[str, ...]:
    """What is doubtful about readings taken on `gauge` that day, a sentence each.

    What was not recorded is not judged. The calibration's due date is its last good day.
    """
    questions = [*_outside(gauge, readings)]
    if gauge.due_on is not None and on > gauge.due_on:
        questions.append(f"gauge calibration ran out on {gauge.due_on}, before {on}")
    if band is not None:
        questions.extend(_too_coarse(gauge, band))
    return tuple(questions)


def is_comparable(gauge: Gauge, band: Band) -> bool:
    """Is its accuracy a pressure, or a share of a range that is known?"""
    return _accuracy_in(gauge, band.high.unit) is not None


def _outside(gauge: Gauge, readings: Sequence[Quantity]) -> list[str]:
    low, high = gauge.low, gauge.high
    return [
        f"{reading} lies outside the gauge's range, {low} to {high}"
        for reading in readings
        if (low is not None and reading < low) or (high is not None and high < reading)
    ]


def _too_coarse(gauge: Gauge, band: Band) -> list[str]:
    """The tolerance tested is half the band's width, so that one-sided bands have one too."""
    accuracy = _accuracy_in(gauge, band.high.unit)
    if accuracy is None:
        return []
    width = band.high.magnitude - band.low.to(band.high.unit).magnitude
    if accuracy <= abs(width) / 2 * QUARTER:
        return []
    return [
        f"gauge accuracy {gauge.accuracy} is worse than a quarter of the tolerance tested,"
        f" {band.low} to {band.high}"
    ]


def _accuracy_in(gauge: Gauge, unit: str) -> Fraction | None:
    """Accuracy as a pressure in `unit`; None when it or the span it is a share of is unknown."""
    if gauge.accuracy is None:
        return None
    if gauge.accuracy.dimension != PERCENT:
        return gauge.accuracy.to(unit).magnitude
    if gauge.low is None or gauge.high is None:
        return None
    span = gauge.high.to(unit).magnitude - gauge.low.to(unit).magnitude
    return gauge.accuracy.magnitude / 100 * span
