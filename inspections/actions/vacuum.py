"""A vent opens inward too: what its vacuum side is judged by, and whether it went back fit."""

from fleet.calc.units import Quantity
from fleet.models import PositionDuty
from inspections.actions.records import Record
from inspections.calc import vacuum, verdicts
from inspections.models import PopTest

STUCK = (PopTest.Result.NO_LIFT, PopTest.Result.STUCK_OPEN)


def vacuum_asked(duty: PositionDuty | None) -> tuple[Quantity | None, verdicts.Band | None]:
    """The vacuum set and the band about it, by the tolerance in force; None where none follows.

    A vacuum set that is not below zero was mistyped and judges nothing.
    """
    asked = duty.vacuum_set if duty else None
    if duty is None or asked is None or vacuum.why_no_vacuum(asked):
        return None, None
    if duty.tolerance is None:
        return asked, None
    try:
        return asked, verdicts.band(duty.tolerance.tolerance, asked, asked)
    except verdicts.NoBand:
        return asked, None


def why_vacuum_unfit(record: Record) -> str:
    """Why the vacuum side as left keeps the vent from counting; "" where none was popped."""
    left = record.vacuum_left()
    if left is None:
        return ""
    if left.bound == PopTest.Bound.ABOVE or left.result in STUCK:
        return "the vacuum side did not open when it was popped as left"
    if left.verdict in (verdicts.IN, ""):
        return ""
    return f"the vacuum side as left {vacuum.WORDS[left.verdict]}"
