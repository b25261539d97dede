"""May a spring be set to another pressure than its nameplate's, without a new spring?

46 CFR 54.15-10(g): within 10 % to 250 psi, within 5 % above. Later codes say 5 % throughout (from
memory), so that is said beside it. It asks a question; the maker's spring chart rules.
"""

from fractions import Fraction

from fleet.calc.units import Quantity

UP_TO = Quantity.of(250, "psig")
SOURCE = "46 CFR 54.15-10(g); later codes 5 % throughout, from memory"


def reset_share(nameplate: Quantity) -> Fraction:
    """How far from the nameplate, as a share of it."""
    return Fraction(10, 100) if nameplate <= UP_TO else Fraction(5, 100)


def beyond_spring(nameplate: Quantity | None, asked: Quantity | None) -> str:
    """Why a set asked for is not one for this spring; "" where it may be, or nothing is known."""
    if nameplate is None or asked is None or not nameplate.magnitude:
        return ""
    off = abs(asked.to(nameplate.unit).magnitude - nameplate.magnitude)
    share = reset_share(nameplate)
    if off <= share * nameplate.magnitude:
        return ""
    percent = int(share * 100)
    return (
        f"{asked} is asked of it and its nameplate says {nameplate}: more than {percent} % away"
        f" wants another spring, by the maker's chart ({SOURCE})"
    )
