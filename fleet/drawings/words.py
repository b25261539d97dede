"""Figures in words for drawings: exact fractions rounded only here, halves away from zero."""

import re
from fractions import Fraction

MINUS = "−"
HYPHEN_AS_MINUS = re.compile(r"(?<![\w-])-(?=\d)")


def true_minus(sentence: str) -> str:
    """`-3.92 %` as `−3.92 %`; hyphens inside days, tags and numbers of records stay."""
    return HYPHEN_AS_MINUS.sub(MINUS, sentence)


def percent_words(value: Fraction | None, places: int = 1) -> str:
    """`+0.4 %`, `−3.6 %`, `0.0 %`; `not recorded` for None. Rounds halves away from zero."""
    if value is None:
        return "not recorded"
    scale = 10**places
    scaled = int(abs(value) * scale + Fraction(1, 2))
    sign = "" if scaled == 0 else MINUS if value < 0 else "+"
    whole, rest = divmod(scaled, scale)
    figure = f"{whole}.{rest:0{places}d}" if places else str(whole)
    return f"{sign}{figure} %"
