"""Numbers as a page says them: exact fractions and floats alike, true minus signs."""

from decimal import Decimal
from fractions import Fraction
from math import inf, isinf

from django import template

from fleet.drawings.words import MINUS

register = template.Library()
Number = int | float | Decimal | Fraction


@register.filter
def number(value: Number | None, places: int) -> str:
    """To so many decimals; nothing for None."""
    return "" if value is None else f"{float(value):.{places}f}".replace("-", MINUS)


@register.filter
def signed(value: Number, places: int) -> str:
    """To so many decimals, with its sign."""
    return f"{float(value):+.{places}f}".replace("-", MINUS)


@register.filter
def figures(value: Number, count: int) -> str:
    """To so many significant figures; the infinite is said."""
    if isinf(float(value)):
        return "infinitely many" if value == inf else f"{MINUS}infinite"
    return f"{float(value):.{count}g}".replace("-", MINUS)


@register.filter
def share(value: float) -> str:
    """A chance or rate in percent; never 0 or 100 where it is not certain."""
    percent = 100 * value
    if 0 < percent < 0.1:
        return "under 0.1 %"
    if 99.9 < percent < 100:
        return "over 99.9 %"
    return f"{percent:.1f} %"


@register.filter
def at(mapping: dict, key: str):
    """What a mapping holds under a key."""
    return mapping[key]


@register.filter
def ratio(value: float) -> str:
    """A ratio to two figures or decimals; what cannot be reckoned is said."""
    if value != value:
        return "not defined"
    return "without limit" if isinf(value) else f"{value:.2f}"
