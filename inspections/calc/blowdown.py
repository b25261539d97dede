"""Blowdown: from where a valve opened down to where it shut again, and what its code allows.

Blowdown = opening pressure - reseating pressure (ASME PTC 25, from memory). The limits were read in
print: ASME Section I PG-72 as a valve handbook prints it, ISO 4126-1, and 49 CFR 180.407(d)(3).
Most benches cannot show it: bench blowdown is not service blowdown, so nothing is judged by it and
no ring is set by it; ring positions rest on instructions and past performance (API RP 576).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.units import Quantity, format_magnitude

ON_A_BENCH = "Bench blowdown is not service blowdown: no ring is set by it."
LIQUID = "liquid"


@dataclass(frozen=True)
class Share:
    """The greater of a share of the set pressure and a pressure."""

    percent: int
    least: Quantity

    def of(self, set_pressure: Quantity) -> Quantity:
        share = Quantity.of(set_pressure.magnitude * self.percent / 100, set_pressure.unit)
        return max(share, Quantity.of(self.least.to(share.unit).magnitude, share.unit))


@dataclass(frozen=True)
class Limits:
    """What a code allows; None is not limited. `reseat_percent`: of set, at least."""

    source: str
    most: Share | None = None
    least: Share | None = None
    reseat_percent: int | None = None


SECTION_I = Limits(
    "ASME Section I; exceptions exist",
    most=Share(4, Quantity.of(4, "psig")),
    least=Share(2, Quantity.of(2, "psig")),
)
ISO_GAS = Limits("ISO 4126-1, gas", most=Share(15, Quantity.of(Fraction(3, 10), "barg")))
ISO_LIQUID = Limits("ISO 4126-1, liquid", most=Share(20, Quantity.of(Fraction(6, 10), "barg")))
CARGO_TANK = Limits("49 CFR 180.407(d)(3)", reseat_percent=90)


def limits_of(tolerance: str, phase: str) -> Limits | None:
    """By the tolerance a position is held to; None where its code's limits are not known here, or
    where they depend on a phase nobody recorded."""
    if tolerance == "iso4126":
        if phase in ("gas", "steam"):
            return ISO_GAS
        return ISO_LIQUID if phase == LIQUID else None
    return {"asme1": SECTION_I, "cargo-tank": CARGO_TANK}.get(tolerance)


def blowdown(opened: Quantity, reseated: Quantity) -> Quantity:
    """In the unit of the opening. Raises ValueError where it reseated above where it opened."""
    down = opened - Quantity.of(reseated.to(opened.unit).magnitude, opened.unit)
    if down.magnitude < 0:
        raise ValueError(f"{reseated} is above {opened}, where it opened")
    return down


def said(
    opened: Quantity, reseated: Quantity, set_pressure: Quantity, limits: Limits | None
) -> tuple[bool | None, str]:
    """Is it within the limits, and in words; None where there are none to hold it to."""
    down = blowdown(opened, reseated)
    share = f"{float(100 * down.magnitude / opened.magnitude):.1f} %" if opened.magnitude else ""
    words = f"blowdown {format_magnitude(down)} {down.unit}, {share} of where it opened"
    if limits is None:
        return None, f"{words}; no limit is known here"
    wrong = list(_wrong(down, reseated, set_pressure, limits))
    return not wrong, f"{words}: {'; '.join(wrong) or 'within its code'} ({limits.source})"


def _wrong(
    down: Quantity, reseated: Quantity, set_pressure: Quantity, limits: Limits
) -> Iterator[str]:
    most = limits.most.of(set_pressure) if limits.most else None
    least = limits.least.of(set_pressure) if limits.least else None
    if most and down > most:
        yield f"more than the {most} allowed"
    if least and down < least:
        yield f"less than the {least} asked"
    if limits.reseat_percent is not None:
        floor = set_pressure.magnitude * limits.reseat_percent / 100
        if reseated.to(set_pressure.unit).magnitude < floor:
            yield f"reseated under {limits.reseat_percent} % of {set_pressure}"
