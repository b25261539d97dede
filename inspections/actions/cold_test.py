"""Does a typed cold test pressure follow from set, back pressure and multiplier?"""

from fractions import Fraction

from fleet.calc.duty import NoColdTestPressure, cold_test_pressure
from fleet.calc.units import Quantity
from fleet.models import PositionDuty
from inspections.calc.verdicts import typed_as

KINDS = ("spring", "bellows")  # where nothing is fitted the pressure may be meant for either


def cold_test_question(typed: Quantity, duty: PositionDuty, kind: str | None) -> str:
    """Why `typed` is not what the duty gives a device of this kind (None = not known), or ""."""
    words, multiplier = [], duty.temperature_multiplier
    if duty.set_pressure is None:
        return ""
    for each in (kind,) if kind else KINDS:
        try:
            given = cold_test_pressure(
                duty.set_pressure,
                kind=each,
                back_pressure=duty.back_pressure,
                back_pressure_kind=duty.back_pressure_kind,
                multiplier=None if multiplier is None else Fraction(multiplier),
            )
        except NoColdTestPressure as error:
            words.append(str(error))
            continue
        if typed_as(typed, given.pressure.to(typed.unit).magnitude):
            return ""
        words.append(f"{given.words} gives {given.pressure}")
    return f"{typed} is given, but {words[0]}"
