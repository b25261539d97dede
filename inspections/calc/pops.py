"""What a pop may be raised to, and what the first one means. Guidance; it decides nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.units import Quantity
from inspections.calc.readings import shown
from inspections.calc.verdicts import HIGH, IN, LOW, Band, Pop, deviation_percent, verdict

STUCK_SHUT = Fraction(150, 100)
SOURCE = "API RP 576 6.2.9"
SCOPE_LIMIT = 3  # percent: the code's limit for testing more valves (ASME OM, from memory)


@dataclass(frozen=True)
class Cap:
    """The pressure at which to stop, and whose limit that is."""

    pressure: Quantity
    whose: str


def lowest_cap(
    owner: Quantity | None, rig: Quantity | None, equipment: Quantity | None, *, in_place: bool
) -> Cap | None:
    """The lowest of the caps entered; what the equipment allows binds in place only.

    None where none was entered: no number is made up.
    """
    given = [(owner, "the owner's limit"), (rig, "the rig's rating")]
    if in_place:
        given.append((equipment, "what the protected equipment allows"))
    caps = [Cap(pressure, whose) for pressure, whose in given if pressure is not None]
    return min(caps, key=lambda cap: cap.pressure, default=None)


def cap_question(pressure: Quantity, cap: Cap | None) -> str:
    """Why a pop stands in doubt against the cap, by how much in its own unit; or ""."""
    if cap is None or pressure <= cap.pressure:
        return ""
    above = f"{shown(pressure - cap.pressure)} above the cap of {cap.pressure}"
    return f"{pressure} is {above}, {cap.whose}: was it mistyped?"


def stuck_shut_at(reference: Quantity) -> Quantity:
    """The pressure by which a device that has not opened is called stuck shut: 150 % of it.

    Source: API RP 576 6.2.9.
    """
    return Quantity.of(reference.magnitude * STUCK_SHUT, reference.unit)


def is_stuck_shut(pop: Pop, reference: Quantity) -> bool:
    """No lift, or none before 150 % of the cold test pressure. Zero has no such limit."""
    if not reference.magnitude:
        return False
    return pop.pressure.to(reference.unit).magnitude / reference.magnitude >= STUCK_SHUT


def within_percent(pop: Pop, reference: Quantity, percent: int) -> bool | None:
    """Is it that near its cold test pressure? None where "no lift" leaves that open."""
    off = deviation_percent(pop.pressure, reference)
    if pop.no_lift:
        return False if off >= percent else None
    return abs(off) <= percent


FAILED_NEXT = {
    "bench_test": "a test alone does not put it right. “Save, and make it an overhaul” below goes"
    " on with the parts in this same job; the first pop stays the as-found value",
    "in_place_test": "put right in place only what your procedure lets you adjust there. Else it"
    " comes out, and is overhauled on the bench as a job of its own",
}


def after_failing(said: str, activity: str) -> str:
    """What to do with a tested valve whose first pop failed, where the test strips nothing; ""
    where it did not, or the work goes on to the parts anyway. Common practice."""
    if said not in (HIGH, LOW) or activity not in FAILED_NEXT:
        return ""
    return f"Out of tolerance: {FAILED_NEXT[activity]} (common practice)."


def meaning(first: Pop, later: Sequence[Quantity], band: Band) -> str:
    """What the first pop points to, and what to do next. Source: API RP 576 6.2.9."""
    said = verdict(first, band)
    if said == IN:
        return f"Near its cold test pressure: no further pop is needed ({SOURCE})."
    if said == LOW:
        return f"Low: a weak spring, a wrong last setting, or seat damage ({SOURCE})."
    if said != HIGH:
        return "Not opened yet: nobody knows where it would have."
    if not later:
        return f"High: pop it again. This first pop stays the as-found value ({SOURCE})."
    if verdict(Pop(later[0]), band) == HIGH:
        return f"High again: a wrong or a moved setting ({SOURCE})."
    if verdict(Pop(later[0]), band) == IN:
        return f"High, then near: deposits or sticking, not the setting ({SOURCE})."
    return f"High, then low: adrift both ways; look at spring, seat and setting ({SOURCE})."
