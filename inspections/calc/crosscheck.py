"""Two methods for one setting: what was counted, against a height that was measured.

Height moves by the lead of the thread for each turn, and by lead / notches for each notch: 16
threads/in and 32 notches give 0.00195 in a notch, so 155 notches are 0.303 in. The counts and the
heights are each read in one datum, and only their changes are compared. A mismatch questions the
record; it never corrects either reading.
"""

from dataclasses import dataclass

from fleet.calc.units import LENGTH, NOTCHES, TURNS, Quantity
from inspections.calc.readings import (
    SettingValue,
    obstacle,
    resolution_of,
    shown,
    signed,
)

OPPOSITE = {"up": "down", "down": "up", "in": "out", "out": "in"}


@dataclass(frozen=True)
class Thread:
    """How a setting advances: `lead` a turn, and the notches of its ring, None on a screw."""

    lead: Quantity
    notches_per_turn: int | None = None


@dataclass(frozen=True)
class Method:
    """One setting by one method, before and after; `positive` is the word for a growing value."""

    before: SettingValue
    after: SettingValue
    positive: str = ""
    resolution: Quantity | None = None


def height_of(count: Quantity, thread: Thread) -> Quantity | None:
    """What a change counted in turns or notches makes in height, exactly, in the lead's unit.

    None where the thread does not say: notches on a ring whose number of notches is unknown.
    """
    turns = count.magnitude
    if count.dimension == NOTCHES:
        if not thread.notches_per_turn:
            return None
        turns = turns / thread.notches_per_turn
    elif count.dimension != TURNS:
        return None
    return Quantity.of(turns * thread.lead.magnitude, thread.lead.unit)


def mismatch(counted: Method, measured: Method, thread: Thread) -> str:
    """Why the two methods do not tell of one move, in words; "" where they do, or cannot be held
    together (a reading missing, another datum, an unknown thread).

    Each change may be out by one step of its own method. Direction is judged where both are said
    in the same pair of words (up and down, in and out); elsewhere only how far it moved.
    """
    moved, grew = _change(counted), _change(measured)
    if moved is None or grew is None or grew.dimension != LENGTH:
        return ""
    expected = height_of(moved, thread)
    if expected is None:
        return ""
    expected = expected.to(grew.unit)
    way = counted.positive
    is_said = bool(way) and measured.positive in (way, OPPOSITE.get(way))
    if is_said and measured.positive != way:
        expected = -expected
    gap = grew - expected if is_said else abs(grew) - abs(expected)
    if abs(gap) <= _slack(moved, grew, counted, measured, thread):
        return ""
    say = signed if is_said else _unsigned
    return (
        f"{signed(moved)} should change the height by {say(expected)}, but it changed by"
        f" {say(grew)}: read both again"
    )


def _unsigned(quantity: Quantity) -> str:
    return shown(abs(quantity))


def _change(method: Method) -> Quantity | None:
    before, after = method.before.quantity, method.after.quantity
    if before is None or after is None or obstacle(method.after, method.before):
        return None
    return after - before.to(after.unit)


def _slack(
    moved: Quantity, grew: Quantity, counted: Method, measured: Method, thread: Thread
) -> Quantity:
    """One step of the count, as height, and one step of the height."""
    slack = Quantity.of(0, grew.unit)
    step = resolution_of(moved, counted.resolution)
    height = height_of(step, thread) if step is not None else None
    for part in (height, resolution_of(grew, measured.resolution)):
        if part is not None:
            slack = slack + part.to(grew.unit)
    return slack
