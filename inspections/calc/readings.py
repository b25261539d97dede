"""What a ring, screw or clearance was set to, and whether it was put back exactly.

A setting is a quantity and the datum it is counted from: the same count from another datum is
another position, so settings of different datums are never compared or subtracted.
"""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache

from fleet.calc.units import LENGTH, NOTCHES, TURNS, Quantity, format_magnitude

EQUAL, OFF, NOT_COMPARABLE = "equal", "off", "not_comparable"

# What the method can tell apart when the setting point does not say (common practice).
RESOLUTIONS = {
    NOTCHES: Quantity.of(1, "notches"),
    LENGTH: Quantity.of(Fraction(1, 64), "in"),
    TURNS: Quantity.of(Fraction(1, 8), "turns"),
}

# Direction is said from the setting point's positive word: on which side of the target we are.
SIDES = {
    "up": ("above target", "below target"),
    "down": ("below target", "above target"),
    "in": ("further in than target", "further out than target"),
    "out": ("further out than target", "further in than target"),
}
UNSAID_SIDES = ("more than target", "less than target")


@dataclass(frozen=True)
class SettingValue:
    """One setting as read: quantity (None = not recorded), its datum, its measure.

    `measure` is notches, turns or length; an empty `datum` is one nobody recorded.
    """

    quantity: Quantity | None
    datum: str
    measure: str


@dataclass(frozen=True)
class DatumChange:
    """That a setting is counted from another datum since a day, and by what: machining, lapping."""

    on: date
    by: str


@dataclass(frozen=True)
class Comparison:
    """As-left against target: `difference` = as-left - target, None when not comparable."""

    kind: str
    difference: Quantity | None
    words: str


def compare(
    as_left: SettingValue,
    target: SettingValue,
    setting: str,
    resolution: Quantity | None = None,
    positive: str = "",
    changed: DatumChange | None = None,
) -> Comparison:
    """Is the setting back where it should be, as finely as the method can tell?

    Equal means nearer than one step of the resolution, so one notch off is off, and a depth
    typed in mm equals its target in 64ths when less than 1/64 in apart. Exact in fractions.
    `setting` is the slug (lower_ring), `positive` the word for a growing value (up, in, ...),
    `changed` what is known of a change of datum between the two.
    """
    why_not = obstacle(as_left, target, changed)
    if why_not or as_left.quantity is None or target.quantity is None:
        return Comparison(NOT_COMPARABLE, None, f"not comparable: {why_not}")
    difference = as_left.quantity.to(target.quantity.unit) - target.quantity
    step = resolution_of(difference, resolution)
    if difference.magnitude == 0 or (step is not None and abs(difference) < step):
        return Comparison(EQUAL, difference, "equal")
    higher, lower = SIDES.get(positive, UNSAID_SIDES)
    side = higher if difference.magnitude > 0 else lower
    words = f"off by {shown(abs(difference))} ({setting.replace('_', ' ')}), {side}"
    return Comparison(OFF, difference, words)


def obstacle(one: SettingValue, other: SettingValue, changed: DatumChange | None = None) -> str:
    """Why as-left `one` and target `other` must not be subtracted, or "" when they may be."""
    for value, name in ((one, "as-left"), (other, "target")):
        if value.quantity is None:
            return f"{name} not recorded"
        if not value.datum.strip():
            return f"no datum recorded for {name}"
    if not same_datum(one.datum, other.datum):
        was = f"was {other.datum}, now {one.datum}"
        return (
            f"datum changed on {changed.on} by {changed.by}: {was}" if changed else f"datum {was}"
        )
    before, now = other.quantity, one.quantity
    if one.measure != other.measure:
        return f"measured in {other.measure}, now in {one.measure}"
    if before is not None and now is not None and before.dimension != now.dimension:
        return f"read as {before}, now as {now}"
    return ""


def beyond(value: SettingValue, low: SettingValue, high: SettingValue) -> str:
    """`under the limit of 3 notches`, or "" within both ends and where an end does not compare."""
    for end, word, way in ((low, "under", -1), (high, "over", 1)):
        if value.quantity is None or end.quantity is None or obstacle(value, end):
            continue
        if way * (value.quantity.to(end.quantity.unit) - end.quantity).magnitude > 0:
            return f"{word} the limit of {end.quantity}"
    return ""


def same_datum(one: str, other: str) -> bool:
    """Case and spacing do not make another datum; any other difference does."""
    return datum_key(one) == datum_key(other)


@lru_cache(maxsize=4096)
def datum_key(datum: str) -> tuple[str, ...]:
    return tuple(datum.casefold().split())


def resolution_of(value: Quantity, resolution: Quantity | None) -> Quantity | None:
    """The setting point's resolution, else the default of the measure; None when unknown.

    What a setting is read to in notches says nothing of the inches it was once measured in.
    """
    if resolution is not None and resolution.dimension == value.dimension:
        return resolution
    return RESOLUTIONS.get(value.dimension)


def shown(quantity: Quantity, places: int = 4) -> str:
    """For a sentence: fractions of the ruler as such, long decimals rounded; 1 notch, 2 notches."""
    unit = Quantity.of(quantity.magnitude, quantity.unit).text.rpartition(" ")[2]
    return f"{format_magnitude(quantity, places)} {unit}"


def signed(quantity: Quantity, places: int = 4) -> str:
    """The same with its sign always said."""
    sign = "-" if quantity.magnitude < 0 else "+"
    return f"{sign}{shown(abs(quantity), places)}"
