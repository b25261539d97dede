"""A number with its unit, exact, and the text a person reads for it."""

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from fleet.calc.registry import ABSOLUTE, GAUGE, NOTCHES, TURNS, UNITS, Unit

_SHOWN = 40  # characters of a typed text that an error repeats
_RULER = 128  # finest division of an inch or a turn that is said as a fraction
_KPAG_PLACES = 6


class UnitsError(ValueError):
    """Not a quantity, duration or date we can read; `typed` (shortened) and `expected`."""

    def __init__(self, typed: str, expected: str) -> None:
        shown = typed[: _SHOWN + 1]
        shown = "".join(" " if c.isspace() else c if c.isprintable() else "�" for c in shown)
        self.typed = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]}…"
        self.expected = expected
        super().__init__(f"“{self.typed}”: expected {expected}")

    def __reduce__(self) -> tuple[type, tuple[str, str]]:
        return type(self), (self.typed, self.expected)


class DimensionMismatch(UnitsError):
    """Two quantities that must not be compared, added or converted into each other."""


@dataclass(frozen=True, eq=False, slots=True)
class Quantity:
    """An exact number in a unit of the registry.

    `text` is what was typed, or says exactly this number when computed: reading it again gives
    an equal Quantity (within the parser's bounds). `assumed_gauge`: typed as a bare psi, bar or
    kPa. Comparing (== too), adding and converting raise DimensionMismatch across dimensions, and
    where no factor exists.
    """

    magnitude: Fraction
    unit: str
    text: str
    assumed_gauge: bool = field(default=False)

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise UnitsError(self.unit, "a unit of the registry")
        if not isinstance(self.magnitude, Fraction):
            raise TypeError(f"magnitude must be a Fraction, not {self.magnitude!r}")

    @classmethod
    def of(cls, magnitude: Fraction | int, unit: str, *, assumed_gauge: bool = False) -> "Quantity":
        """A computed quantity; its text says exactly this number."""
        exact = Fraction(magnitude)
        return cls(exact, unit, _said(exact.numerator, exact.denominator, unit), assumed_gauge)

    @property
    def dimension(self) -> str:
        return UNITS[self.unit].dimension

    def to(self, unit: str) -> "Quantity":
        """The same quantity in another unit, exact; itself when it is already in it."""
        if unit == self.unit:
            return self
        return Quantity.of(self._in(unit), unit, assumed_gauge=self.assumed_gauge)

    @property
    def kpag(self) -> Decimal:
        """Gauge kilopascals rounded to 6 places, halves away from zero; for sorting only."""
        return _rounded(self._in("kPag"), _KPAG_PLACES)

    def _in(self, unit: str) -> Fraction:
        """The number this quantity is in another unit."""
        if unit == self.unit:
            return self.magnitude
        if unit not in UNITS:
            raise UnitsError(unit, "a unit of the registry")
        mine, other = UNITS[self.unit], UNITS[unit]
        if mine.kind != other.kind:
            raise DimensionMismatch(str(self), _why_not(mine, other))
        return self.magnitude * mine.factor / other.factor

    def __str__(self) -> str:
        return self.text

    def __hash__(self) -> int:
        unit = UNITS[self.unit]
        return hash((unit.kind, self.magnitude * unit.factor))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        return self.magnitude == other._in(self.unit)

    def __lt__(self, other: "Quantity") -> bool:
        return self.magnitude < other._in(self.unit)

    def __le__(self, other: "Quantity") -> bool:
        return self.magnitude <= other._in(self.unit)

    def __gt__(self, other: "Quantity") -> bool:
        return self.magnitude > other._in(self.unit)

    def __ge__(self, other: "Quantity") -> bool:
        return self.magnitude >= other._in(self.unit)

    def __add__(self, other: "Quantity") -> "Quantity":
        return Quantity.of(self.magnitude + other._in(self.unit), self.unit)

    def __sub__(self, other: "Quantity") -> "Quantity":
        return Quantity.of(self.magnitude - other._in(self.unit), self.unit)

    def __neg__(self) -> "Quantity":
        return Quantity.of(-self.magnitude, self.unit)

    def __abs__(self) -> "Quantity":
        return Quantity.of(abs(self.magnitude), self.unit)


def gauge_to_absolute(q: Quantity, atmosphere: Quantity) -> Quantity:
    """Gauge pressure + the atmosphere at that place, in the absolute unit of `q`.

    The only bridge between the two; the atmosphere is always named, never assumed.
    0.97 x 1000 psia with 14.7 psia of atmosphere is 955.30 psig, not 0.97 x 985.3.
    """
    if q.dimension != GAUGE:
        raise DimensionMismatch(str(q), "a gauge pressure")
    if atmosphere.dimension != ABSOLUTE or atmosphere.magnitude <= 0:
        raise DimensionMismatch(str(atmosphere), "the atmosphere as an absolute pressure")
    twin = f"{q.unit[:-1]}a"
    unit = twin if twin in UNITS else "kPaa"
    scale = UNITS[q.unit].factor / UNITS[unit].factor  # kPa gauge and absolute are equally large
    return Quantity.of(q.magnitude * scale, unit) + atmosphere


def format_magnitude(q: Quantity, places: int = 4) -> str:
    """The number alone, for a person to read: fractions of the ruler as such, else decimals.

    Rounded to `places`, halves away from zero, where the exact decimals are longer.
    """
    if _is_ruled(q.magnitude, q.unit):
        return _exact_text(q.magnitude, q.unit)
    return _plain(_rounded(q.magnitude, places))


@lru_cache(maxsize=16_384)
def _said(numerator: int, denominator: int, unit: str) -> str:
    exact = Fraction(numerator, denominator)
    return f"{_exact_text(exact, unit)} {_word(exact, unit)}"


def _exact_text(x: Fraction, unit: str) -> str:
    places = _decimal_places(x.denominator)
    if x.denominator == 1:
        return str(x.numerator)
    if places is not None and not _is_ruled(x, unit):
        return _plain(_rounded(x, places))
    sign = "-" if x < 0 else ""
    whole, rest = divmod(abs(x.numerator), x.denominator)
    return f"{sign}{f'{whole} ' if whole else ''}{rest}/{x.denominator}"


def _is_ruled(x: Fraction, unit: str) -> bool:
    """Inches, turns and notches in halves, quarters ... 128ths are said as fractions."""
    power_of_two = x.denominator & (x.denominator - 1) == 0
    ruled = unit == "in" or UNITS[unit].dimension in (NOTCHES, TURNS)
    return ruled and power_of_two and x.denominator <= _RULER


def _decimal_places(denominator: int) -> int | None:
    """Decimals that say a fraction of this denominator exactly; None when none do."""
    twos = fives = 0
    while denominator % 2 == 0:
        denominator, twos = denominator // 2, twos + 1
    while denominator % 5 == 0:
        denominator, fives = denominator // 5, fives + 1
    return max(twos, fives) if denominator == 1 else None


def _rounded(x: Fraction, places: int) -> Decimal:
    """Halves away from zero, exact for any size, never minus zero."""
    steps = (abs(x) * 10**places * 2 + 1) // 2
    digits = tuple(int(digit) for digit in str(steps))
    return Decimal((int(x < 0 and steps > 0), digits, -places))


def _plain(x: Decimal) -> str:
    text = f"{x:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _word(x: Fraction, unit: str) -> str:
    """The unit as said after this number: 1 notch, 1/8 turn, 2 notches."""
    singular = {"notches": "notch", "turns": "turn"}
    return singular.get(unit, unit) if 0 < abs(x) <= 1 else unit


def _why_not(mine: Unit, other: Unit) -> str:
    if mine.dimension == other.dimension:
        return f"{other.symbol}; {mine.symbol} has no fixed factor to {other.symbol}"
    wanted, given = (d.replace("_", " ") for d in (other.dimension, mine.dimension))
    return f"{wanted} ({other.symbol}), not {given} ({mine.symbol})"
