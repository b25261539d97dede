"""The strict parser of the quantities people type.

Own grammar, linear time, bounded length; nothing typed reaches the units library. What could be
read in two ways is refused.
"""

import re
from fractions import Fraction
from functools import lru_cache

from fleet.calc.quantities import Quantity, UnitsError
from fleet.calc.registry import EXAMPLES, LARGEST, SPELLINGS, UNITS, Spelling, units_of

MAX_LENGTH = 60  # as long as the column that keeps it

_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5),
    "⅗": (3, 5), "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8),
    "⅞": (7, 8),
}  # fmt: skip
_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " "})  # those of word processors
_UNIT_MARKS = str.maketrans({"²": "2", "³": "3", "₂": "2"})

# sign, then a vulgar fraction, or a number that may carry decimals or a fraction; then the unit.
# Each part begins with a character that the part before it cannot hold: no backtracking.
_NUMBER = re.compile(
    r"(?P<sign>[+\-\u2212]?)"
    r"(?:(?P<first>[0-9]+)(?P<tail>(?:[.,][0-9]+)+|[/\u2044][0-9]+|(?: *|-)[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]"
    r"|(?: +|-)[0-9]+[/\u2044][0-9]+)?|(?P<vulgar>[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\.[0-9]+))"
    r"(?![0-9.,/\u2044])"
    r" ?(?P<unit>.*)"
)
_FORM = "one number such as 12, 12.5, 5/16 or 1 3/8, with no more than one decimal mark"


def parse_quantity(
    text: str,
    dimensions: tuple[str, ...],
    *,
    header_unit: str | None = None,
    decimal_mark: str | None = None,
) -> Quantity:
    """Read a number with its unit, exactly, in one of `dimensions`.

    `header_unit`: the unit for a cell that holds the number alone; a cell's own unit must then be
    the same one. `decimal_mark`: "." or "," when the run names it; without one, a comma and
    exactly three digits are refused. The result's `text` is what was typed, except that a unit
    from the header is added and a comma only the run explains is written as it was understood,
    so that the text alone always reads as the same quantity. Raises UnitsError.
    """
    if decimal_mark not in (None, ".", ","):
        raise ValueError(f"decimal_mark is '.', ',' or None, not {decimal_mark!r}")
    typed = text.strip()
    if len(typed) > MAX_LENGTH:
        raise UnitsError(typed, f"a quantity of at most {MAX_LENGTH} characters")
    return _parse(typed, dimensions, header_unit, decimal_mark)


@lru_cache(maxsize=16_384)
def _parse(
    typed: str, dimensions: tuple[str, ...], header_unit: str | None, decimal_mark: str | None
) -> Quantity:
    match = _NUMBER.fullmatch(typed.translate(_SPACES))
    if not match:
        raise UnitsError(typed, _expected(dimensions))
    spelled = match["unit"]
    spelling = _unit(typed, spelled, dimensions, header_unit)
    magnitude, said = _magnitude(typed, match, decimal_mark)
    unit = UNITS[spelling.symbol]
    if abs(magnitude.numerator) * unit.factor >= LARGEST * magnitude.denominator:
        raise UnitsError(typed, f"less than {LARGEST:,} {unit.kind}".replace(",", " "))
    if said:
        typed = f"{match['sign']}{said} {spelled}".strip()
    if not spelled:
        typed = f"{typed} {(header_unit or '').strip()}"
    if len(typed) > MAX_LENGTH:
        raise UnitsError(typed, f"a quantity of at most {MAX_LENGTH} characters")
    return Quantity(magnitude, unit.symbol, typed, spelling.assumed_gauge)


def _unit(
    typed: str, spelled: str, dimensions: tuple[str, ...], header_unit: str | None
) -> Spelling:
    header = None if header_unit is None else _spelling(header_unit, header_unit, dimensions)
    if not spelled:
        if header is None:
            raise UnitsError(typed, _expected(dimensions, "; the unit is missing"))
        return header
    own = _spelling(typed, spelled, dimensions)
    if header is not None and own.symbol != header.symbol:
        raise UnitsError(typed, f"{header.symbol}, the unit of the column")
    return own


def _spelling(typed: str, spelled: str, dimensions: tuple[str, ...]) -> Spelling:
    """What a unit's spelling means here; raises UnitsError naming the units that are known."""
    word = spelled.strip().translate(_SPACES).translate(_UNIT_MARKS).casefold()
    spelling = SPELLINGS.get(word)
    if spelling is None:
        raise UnitsError(typed, _expected(dimensions))
    given = UNITS[spelling.symbol].dimension
    if given in dimensions:
        return spelling
    if spelling.assumed_gauge:
        raise UnitsError(typed, _expected(dimensions, "; the unit must say gauge or absolute"))
    raise UnitsError(typed, _expected(dimensions, f"; not {given.replace('_', ' ')}"))


def _magnitude(typed: str, match: re.Match[str], decimal_mark: str | None) -> tuple[Fraction, str]:
    """The number, and how to write it where the text alone would not say it (else "")."""
    first, tail = match["first"], match["tail"]
    said = ""
    if first is None:
        value = _bare(typed, match["vulgar"], decimal_mark)
    elif tail is None:
        value = Fraction(int(first))
    elif tail[0] in ".,":
        plain = _plain_decimal(typed, first + tail, decimal_mark)
        said = plain if _is_ambiguous(first + tail) else ""
        value = _decimal(plain)
    elif tail[0] in "/\u2044":
        value = _ratio(typed, first + tail)
    else:
        value = int(first) + _part(typed, tail.lstrip(" -"))
    return (value if match["sign"] in ("", "+") else -value), said


def _bare(typed: str, word: str, decimal_mark: str | None) -> Fraction:
    """½ or .5"""
    if word in _VULGAR:
        return Fraction(*_VULGAR[word])
    return _decimal(_plain_decimal(typed, word, decimal_mark))


def _part(typed: str, word: str) -> Fraction:
    """What stands after a whole number: ½ or 3/8"""
    value = Fraction(*_VULGAR[word]) if word in _VULGAR else _ratio(typed, word)
    if value >= 1:
        raise UnitsError(typed, "a fraction below 1 after the whole number")
    return value


def _ratio(typed: str, word: str) -> Fraction:
    top, bottom = word.replace("\u2044", "/").split("/")
    if not int(bottom):
        raise UnitsError(typed, "a fraction that is not over zero")
    return Fraction(int(top), int(bottom))


def _decimal(plain: str) -> Fraction:
    whole, _, decimals = plain.partition(".")
    return Fraction(int(whole + decimals), 10 ** len(decimals))


def _is_ambiguous(number: str) -> bool:
    """Could the comma be a thousands mark? Exactly three digits after it, so nobody can tell."""
    return bool(re.search(r",[0-9]{3}(?![0-9])", number))


def _plain_decimal(typed: str, number: str, decimal_mark: str | None) -> str:
    """Digits with at most one ".", from digits with points and commas."""
    if decimal_mark is None and _is_ambiguous(number):
        raise UnitsError(
            typed, "no comma before exactly three digits, unless the decimal mark is named"
        )
    if decimal_mark == "," and "." in number:
        raise UnitsError(typed, "only the decimal mark named for this run, a comma")
    if decimal_mark == "." and "," in number:
        if not re.fullmatch(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?", number):
            raise UnitsError(typed, "only the decimal mark named for this run, a point")
        return number.replace(",", "")
    if number.count(".") + number.count(",") > 1:
        raise UnitsError(typed, _FORM)
    return number.replace(",", ".")


def _expected(dimensions: tuple[str, ...], but: str = "") -> str:
    names = " or ".join(d.replace("_", " ") for d in dimensions)
    units = ", ".join(units_of(dimensions))
    example = EXAMPLES[dimensions[0]]
    return f"{names}, one number and its unit ({units}), such as {example}{but}"
