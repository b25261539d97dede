"""A vent's vacuum side: a gauge pressure below zero, said so that nobody misreads it.

Deviation and verdict go by magnitude: `high` is deeper than the band, where the tank may collapse
before the vent opens; `low` is nearer to zero. Neither word is shown without saying which.
"""

from fractions import Fraction

from fleet.calc.units import Quantity
from inspections.calc.verdicts import HIGH, IN, LOW, UNDECIDED, round_half_away

DEEPEST = Quantity.of(-110, "kPag")  # the highest sea-level air pressure on record is below 110 kPa
WORDS = {
    IN: "in tolerance",
    HIGH: "opens late: deeper than the band",
    LOW: "opens early: nearer to zero than the band",
    UNDECIDED: "not decided: it opens somewhere deeper",
}


def why_no_vacuum(typed: Quantity) -> str:
    """Why a gauge pressure cannot be where a vent opens inward, or ""."""
    if typed.magnitude > 0:
        return (
            f"“{typed}” presses outward: a vacuum is below zero, so type −{typed.text.lstrip('+')}"
        )
    if not typed.magnitude:
        return "zero is no vacuum: type how far below zero, such as −0.5 kPag"
    if typed < DEEPEST:
        return f"“{typed}” is deeper than any vacuum: was it mistyped?"
    return ""


def off_words(deviation: Fraction, *, no_lift: bool = False) -> str:
    """`10.00 % deeper than set`; a deviation is of magnitudes, so plus is deeper."""
    figure = f"{round_half_away(abs(deviation), 2)} %"
    if not deviation:
        return "at its set, and not opened yet" if no_lift else "at its set"
    side = "deeper than set" if deviation > 0 else "nearer to zero than set"
    return f"{figure} {side}, and not opened yet" if no_lift else f"{figure} {side}"
