"""Seat tightness: the pressure to test a seat at, and how much it may leak.

Source: API Std 527. The test pressure was seen quoted second-hand; the table of bubbles, soft
seats, steam and water are from memory, and every answer says so.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.units import LEAK_RATE, Quantity

LEAST_BELOW = Quantity.of(5, "psig")
SHARE_BELOW = Fraction(10, 100)
SOURCE = "API Std 527"
FROM_MEMORY = f"{SOURCE}, from memory"

# Effective orifice areas by letter, square inches. Source: API Std 526.
ORIFICE_AREAS = {
    letter: Fraction(area)
    for letter, area in {
        "D": "0.110", "E": "0.196", "F": "0.307", "G": "0.503", "H": "0.785", "J": "1.287",
        "K": "1.838", "L": "2.853", "M": "3.60", "N": "4.34", "P": "6.38", "Q": "11.05",
        "R": "16.0", "T": "26.0",
    }.items()
}  # fmt: skip
SMALL_UP_TO = Fraction("0.307")

# (set pressure up to, psig; bubbles a minute of air through a metal seat), ascending.
SMALL = ((1000, 40), (1500, 60), (2000, 80), (2500, 100))
LARGE = ((1000, 20), (1500, 30), (2000, 40), (2500, 50), (3000, 60), (4000, 80), (5000, 100))


class NoTightness(ValueError):
    """The standard gives no figure here; the words say why."""


@dataclass(frozen=True)
class Allowed:
    """The most a seat may leak, as bubbles or water a unit of time, and the words of its rule."""

    rate: Quantity
    words: str


SOFT = re.compile(r"(?<!non-)(?<!not )(?<!non )\bsoft", re.I)
SMALLEST_DN = 10


def pressure_to_test(reference: Quantity) -> Quantity:
    """Below the set (on a bench, the cold test pressure) by the greater of 10 % and 5 psi.

    30 -> 25, 50 -> 45, 51 -> 45.9, 100 -> 90 psig. Raises NoTightness where nothing is left of
    it, or for a vacuum, of which the standard does not speak.
    """
    below = max(reference.magnitude * SHARE_BELOW, LEAST_BELOW.to(reference.unit).magnitude)
    if reference.magnitude <= below:
        raise NoTightness(f"{SOURCE} gives no seat test pressure for {reference}")
    return Quantity.of(reference.magnitude - below, reference.unit)


def allowed_bubbles(set_pressure: Quantity, orifice: str) -> Allowed:
    """Bubbles a minute a metal seat may leak on air. Raises NoTightness without an orifice letter.

    Between two rows the lower one is used, the stricter, and the words say so.
    """
    letter = orifice.strip().upper().removesuffix("2")  # T2: a larger T of one maker or other
    area = ORIFICE_AREAS.get(letter)
    if area is None:
        raise NoTightness("no orifice letter is on record, so no leakage limit follows")
    psig = set_pressure.to("psig").magnitude
    rows = SMALL if area <= SMALL_UP_TO else LARGE
    at, bubbles = max((row for row in rows if row[0] <= psig), default=rows[0])
    size = "0.307 in² or less" if area <= SMALL_UP_TO else "over 0.307 in²"
    words = f"metal seat on air, orifice {size}, row {at} psig"
    if at < psig and at != rows[-1][0]:
        words += ": between two rows the lower one is used"
    return Allowed(Quantity.of(bubbles, "bubbles/min"), f"{words} ({FROM_MEMORY})")


def allowed(set_pressure: Quantity, *, orifice: str, seat: str, medium: str, inlet: str) -> Allowed:
    """The limit for this seat on this medium. Raises NoTightness where none follows.

    seat: as recorded, `soft` anywhere in it for a soft seat. inlet: `2 in`, for water.
    """
    if medium == "steam":
        return Allowed(_none(), f"none seen or heard for 1 minute on steam ({FROM_MEMORY})")
    if not medium:
        raise NoTightness("the medium is not recorded, and the leakage limit depends on it")
    if medium not in ("air", "nitrogen", "water"):
        raise NoTightness(f"no leakage limit is known here for a test on {medium}")
    if SOFT.search(seat):
        return Allowed(_none(), f"soft seat: none for 1 minute ({FROM_MEMORY})")
    if medium == "water":
        return _water(inlet)
    return allowed_bubbles(set_pressure, orifice)


def _water(inlet: str) -> Allowed:
    """10 cm3/h an inch of inlet, and 10 cm3/h below one inch.

    A size without its unit is read as inches only where it cannot be a DN (ISO 6708 begins at 10).
    """
    number = inlet.strip().removesuffix("in").strip()
    try:
        inches = sum((Fraction(part) for part in number.split()), Fraction(0))
    except (ValueError, ZeroDivisionError):
        inches = Fraction(0)
    is_bare = number == inlet.strip()
    if inches <= 0 or (is_bare and inches >= SMALLEST_DN):
        raise NoTightness("no inlet size in inches is on record, so no limit on water follows")
    rate = Quantity.of(10 * max(inches, Fraction(1)), "cm3/h")
    return Allowed(rate, f"10 cm³/h an inch of inlet on water ({FROM_MEMORY})")


def _none() -> Quantity:
    return Quantity.of(0, "bubbles/min")


def leak_words(leak: Quantity, limit: Allowed) -> tuple[bool | None, str]:
    """Is a leak within its limit, and in words; None where the two cannot be compared."""
    if leak.dimension != LEAK_RATE or (leak.unit != limit.rate.unit and limit.rate.magnitude):
        return None, f"not comparable: the limit is {limit.rate}"
    is_tight = leak.magnitude <= limit.rate.magnitude
    return is_tight, f"{'tight enough' if is_tight else 'leaks too much'}: limit {limit.rate}"
