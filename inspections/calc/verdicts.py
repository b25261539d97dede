"""What the first pop says: deviation from the cold test pressure, the band, the verdict.

Exact fractions throughout; rounding is for display alone and sends halves away from zero.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fleet.calc.library import ON_ABSOLUTE, Tolerance
from fleet.calc.library import NoBand as NoBand
from fleet.calc.units import PERCENT, Quantity, gauge_to_absolute

IN, HIGH, LOW, UNDECIDED = "in", "high", "low", "undecided"


@dataclass(frozen=True)
class Pop:
    """The pressure at which a device opened; with `no_lift` it had not opened at that pressure.

    "No lift at P" is right-censored: the device opens somewhere above P, nobody knows where.
    """

    pressure: Quantity
    no_lift: bool = False

    def __str__(self) -> str:
        return f"no lift at {self.pressure}" if self.no_lift else str(self.pressure)


@dataclass(frozen=True)
class Band:
    """Acceptable opening pressures, both ends included, in the unit the set was typed in.

    `low` is the end where it opens early; on a vacuum setting that is the one nearer zero.
    """

    low: Quantity
    high: Quantity


def deviation_percent(pop: Quantity, cdtp: Quantity) -> Fraction:
    """(first pop - CDTP) / CDTP x 100, exact. Source: API RP 576."""
    if cdtp.magnitude == 0:
        raise ValueError("a cold test pressure of zero has no percent deviation")
    return (pop.to(cdtp.unit).magnitude - cdtp.magnitude) / cdtp.magnitude * 100


def round_half_away(x: Fraction, places: int) -> Decimal:
    """Rounded for display, halves away from zero; exact for any size, never minus zero."""
    steps = (abs(x) * 10**places * 2 + 1) // 2
    digits = tuple(int(digit) for digit in str(steps))
    return Decimal((int(x < 0 and steps > 0), digits, -places))


def band(tolerance: Tolerance, set_pressure: Quantity, cdtp: Quantity) -> Band:
    """The band of a set pressure: its row chosen by the set as typed, laid about the CDTP.

    Both ends are in the unit of the set. Raises NoBand where the tolerance says nothing.
    """
    row, about = tolerance.row_for(set_pressure), cdtp.to(set_pressure.unit)
    early, late = (_offset(limit, tolerance, about) for limit in (row.low, row.high))
    if row.floor is not None:
        floor = row.floor.to(about.unit).magnitude
        early, late = min(early, -floor), max(late, floor)
    outward = 1 if about.magnitude > 0 else -1
    return Band(*(Quantity.of(about.magnitude + outward * x, about.unit) for x in (early, late)))


def _offset(limit: Quantity, tolerance: Tolerance, about: Quantity) -> Fraction:
    """How far outward from the CDTP an end lies, in the unit of `about`.

    On the absolute basis a percentage is of the absolute pressure: 0.97 x 1000 psia is
    955.3 psig, where 0.97 x 985.3 psig would be 955.741.
    """
    if limit.dimension != PERCENT:
        return limit.to(about.unit).magnitude
    share = limit.magnitude / 100
    if tolerance.basis == ON_ABSOLUTE and tolerance.atmosphere is not None:
        whole = gauge_to_absolute(about, tolerance.atmosphere).to("kPaa").magnitude
        return Quantity.of(share * whole, "kPag").to(about.unit).magnitude
    return share * abs(about.magnitude)


def verdict(pop: Pop, band: Band) -> str:
    """in, high or low; undecided for a "no lift" below the band's high end.

    A vacuum set (negative gauge) is high when it opens further from zero than the band.
    """
    outward = 1 if band.high >= band.low else -1
    value, low, high = (
        outward * q.to(band.high.unit).magnitude for q in (pop.pressure, band.low, band.high)
    )
    if pop.no_lift:
        return HIGH if value >= high else UNDECIDED
    if value > high:
        return HIGH
    return LOW if value < low else IN


def sticking(first: Pop, later: Sequence[Quantity], band: Band) -> bool:
    """First pop high and a later one, unadjusted, inside the band. Source: API RP 576 6.2.9."""
    later_in_band = any(verdict(Pop(pressure), band) == IN for pressure in later)
    return verdict(first, band) == HIGH and later_in_band


def typed_deviation_question(typed: Quantity, pop: Quantity, cdtp: Quantity) -> str:
    """Why a typed percent deviation is not what its pressures give, or "" when it is.

    It must equal the computed value rounded, halves away from zero, to as many decimals as were
    typed. A truncated one is a mismatch: the reader is told, and judges.
    """
    computed = deviation_percent(pop, cdtp)
    if typed_as(typed, computed):
        return ""
    places = max(2, decimals_typed(typed))
    return (
        f"typed deviation {typed}, but {pop} against {cdtp} gives"
        f" {round_half_away(computed, places):+} %"
    )


def typed_as(typed: Quantity, computed: Fraction) -> bool:
    """Does the typed number say the computed one, at the decimals it was typed with?

    What no decimals say (a vulgar fraction) must be exact.
    """
    places = decimals_typed(typed)
    if (typed.magnitude * 10**places).denominator != 1:
        return typed.magnitude == computed
    return typed.magnitude == Fraction(round_half_away(computed, places))


def decimals_typed(typed: Quantity) -> int:
    """Digits after the decimal mark of the text as typed."""
    match = re.search(r"[.,](\d+)", typed.text)
    return len(match[1]) if match else 0
