"""What a position asks of its device: the cold test pressure, and set pressure against MAWP.

All pressures are gauge and stay exact; nothing is rounded. A pressure of another kind raises
the units room's own error.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.units import Quantity

CONVENTIONAL, BALANCED = "spring", "bellows"
CONSTANT, VARIABLE = "constant", "variable"

# Highest set pressure as a fraction of MAWP. First, additional and fire devices: the pressure
# vessel rule, and NBIC-style boiler groups: US Navy training manual 14259 (MAWP + 3 %).
HIGHEST_SET = {
    "first": Fraction(100, 100),
    "additional": Fraction(105, 100),
    "fire": Fraction(110, 100),
    "boiler": Fraction(103, 100),
}
BOILER_SPREAD = Fraction(10, 100)


class NoColdTestPressure(ValueError):
    """No single cold test pressure follows; `field` is what is missing or contradicts."""

    def __init__(self, field: str, reason: str) -> None:
        self.field, self.reason = field, reason
        super().__init__(reason)


@dataclass(frozen=True)
class ColdTest:
    """The cold differential test pressure, in the unit of the set pressure, and how it came."""

    pressure: Quantity
    words: str


def cold_test_pressure(
    set_pressure: Quantity,
    *,
    kind: str,
    back_pressure: Quantity | None = None,
    back_pressure_kind: str = "",
    multiplier: Fraction | None = None,
) -> ColdTest:
    """(set - constant back pressure) x temperature multiplier, exact.

    Only a conventional valve (kind "spring") takes the subtraction; bellows take none. The
    multiplier comes from the maker or the owner's specification; without one none is applied,
    and `words` says so. Raises NoColdTestPressure. Source: common practice as API RP 576 and
    520 describe it (from memory).
    """
    if kind in ("rupture_disc", "pin"):
        raise NoColdTestPressure("kind", "a disc or pin is not popped cold on a bench")
    if multiplier is not None and multiplier <= 0:
        raise NoColdTestPressure("temperature_multiplier", "the multiplier must be above zero")
    less = _subtraction(kind, back_pressure, back_pressure_kind)
    pressure = set_pressure if less is None else set_pressure - less
    if pressure.magnitude * set_pressure.magnitude <= 0:
        raise NoColdTestPressure("back_pressure", "back pressure leaves nothing of the set")
    factor = Fraction(1) if multiplier is None else multiplier
    words = [f"set {set_pressure}"]
    words.append(f"less constant back pressure {less}" if less is not None else "no subtraction")
    words.append("no temperature multiplier given" if multiplier is None else f"times {factor}")
    return ColdTest(Quantity.of(pressure.magnitude * factor, set_pressure.unit), ", ".join(words))


def _subtraction(kind: str, back: Quantity | None, back_kind: str) -> Quantity | None:
    """The back pressure to subtract from the set, None when nothing is subtracted."""
    if back is not None and back_kind not in (CONSTANT, VARIABLE) and back.magnitude != 0:
        raise NoColdTestPressure(
            "back_pressure_kind", f"back pressure {back} is given: say constant or variable"
        )
    if kind == BALANCED or back_kind not in (CONSTANT, VARIABLE):
        return None
    if kind != CONVENTIONAL:
        raise NoColdTestPressure(
            "kind", f"how back pressure acts on a {kind} device is the maker's to say"
        )
    if back_kind == VARIABLE:
        raise NoColdTestPressure(
            "back_pressure_kind",
            "variable back pressure on a conventional valve has no single cold test pressure",
        )
    if back is None:
        raise NoColdTestPressure("back_pressure", "constant back pressure, but how much?")
    return back


def highest_set(mawp: Quantity, duty_role: str) -> Quantity:
    """The highest set pressure for the role; KeyError for a word that is no duty role."""
    return Quantity.of(mawp.magnitude * HIGHEST_SET[duty_role], mawp.unit)


def set_pressure_question(set_pressure: Quantity, mawp: Quantity, duty_role: str) -> str:
    """Why the set pressure is too high for its role, or "" when it is not.

    Without a role the strictest limit asks the question, because nobody has said that more is
    allowed. A boiler's group is judged by `boiler_group_questions` as well.
    """
    limit = highest_set(mawp, duty_role or "first")
    if set_pressure <= limit:
        return ""
    role = f"{duty_role} device" if duty_role else "device with no duty role given"
    percent = HIGHEST_SET[duty_role or "first"] * 100
    return f"set {set_pressure} is above {limit}, {percent} % of MAWP {mawp} for a {role}"


def boiler_group_questions(mawp: Quantity, sets: Sequence[Quantity]) -> tuple[str, ...]:
    """What is wrong with the set pressures of the valves of one boiler on one MAWP.

    At least one at or below MAWP, none above MAWP + 3 %, spread at most 10 % of the highest.
    Source: US Navy training manual NAVEDTRA 14259.
    """
    if not sets:
        return ()
    lowest, highest = min(sets), max(sets)
    questions = []
    if lowest > mawp:
        questions.append(f"none of the group is set at or below MAWP {mawp}")
    if highest > highest_set(mawp, "boiler"):
        questions.append(f"{highest} is above MAWP {mawp} + 3 %")
    if (highest - lowest).magnitude > BOILER_SPREAD * highest.magnitude:
        questions.append(f"the spread {lowest} to {highest} is over 10 % of the highest")
    return tuple(questions)
