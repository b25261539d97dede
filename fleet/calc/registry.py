"""The one registry: every unit we know, its exact factor, and every spelling we accept.

Pint holds the definitions, all ours, with factors as exact fractions; it never sees what people
type. Gauge and absolute pressure are different dimensions, and so are notches and turns: what
cannot be added has no factor between.
"""

from dataclasses import dataclass
from fractions import Fraction

import pint

GAUGE = "gauge_pressure"
ABSOLUTE = "absolute_pressure"
LENGTH = "length"
NOTCHES = "notches"
TURNS = "turns"
MASS_FLOW = "mass_flow"
GAS_FLOW = "gas_flow"
LIQUID_FLOW = "liquid_flow"
SPRING_RATE = "spring_rate"
TEMPERATURE = "temperature"
LEAK_RATE = "leak_rate"
PERCENT = "percent"

EXAMPLES = {  # as people type them; errors show them
    GAUGE: "150 psig",
    ABSOLUTE: "14.7 psia",
    LENGTH: "1 3/8 in",
    NOTCHES: "-7 notches",
    TURNS: "15 1/4 turns",
    MASS_FLOW: "24270 kg/h",
    GAS_FLOW: "1200 scfm",
    LIQUID_FLOW: "50 gpm",
    SPRING_RATE: "2000 lb/in",
    TEMPERATURE: "72 degF",
    LEAK_RATE: "20 bubbles/min",
    PERCENT: "-4.43 %",
}

# Pressures in kPa. Pound 0.45359237 kg, inch 0.0254 m and standard gravity 9.80665 m/s2 are exact
# by definition (NIST SP 811, appendix B); water columns are conventional, 1000 kg/m3, and not
# those "at 4 degC" or "at 60 degF".
_PRESSURES = {
    "psi": "0.45359237 * 9.80665 / 0.0254 ** 2 / 1000",
    "bar": "100",
    "kPa": "1",
    "MPa": "1000",
    "kg/cm2": "9.80665 * 10",
    "mbar": "0.1",
    "inH2O": "9.80665 * 0.0254",
    "mmH2O": "9.80665 / 1000",
    "oz/in2": "0.45359237 * 9.80665 / 0.0254 ** 2 / 1000 / 16",
}

# dimension -> unit -> its size in the first unit of its kind; an empty size starts a new kind,
# with no factor to any other. Standard and normal gas volumes are counted at temperatures that
# differ by usage, a bubble by its tube: such units are never converted into each other.
_OTHERS = {
    LENGTH: {"mm": "", "cm": "10", "in": "25.4"},
    NOTCHES: {"notches": ""},
    TURNS: {"turns": ""},
    MASS_FLOW: {"kg/h": "", "lb/h": "0.45359237"},
    GAS_FLOW: {"scfm": "", "Nm3/h": ""},
    LIQUID_FLOW: {"m3/h": "", "gpm": "231 * 0.0254 ** 3 * 60"},  # the US gallon, 231 in3
    SPRING_RATE: {"N/mm": "", "lb/in": "0.45359237 * 9.80665 / 25.4"},
    TEMPERATURE: {"degC": "", "degF": ""},
    LEAK_RATE: {"bubbles/min": "", "cm3/h": ""},
    PERCENT: {"%": ""},
}

_SPELLINGS = {
    "mm": "millimetre millimetres millimeter millimeters",
    "cm": "centimetre centimetres centimeter centimeters",
    "in": "in. inch inches \" ” ″ ''",
    "notches": "notch",
    "turns": "turn",
    "kg/h": "kg/hr",
    "lb/h": "lb/hr lbs/h lbs/hr",
    "Nm3/h": "Nm3/hr",
    "m3/h": "m3/hr",
    "gpm": "usgpm",
    "N/mm": "",
    "lb/in": "lbf/in lbs/in",
    "degC": "°C C",
    "degF": "°F F",
    "bubbles/min": "bubble/min",
    "cm3/h": "cm3/hr cc/h cc/hr ml/h",
    "%": "percent",
}
_SPELLED_PRESSURES = {"kg/cm2": ("kgf/cm2",), "oz/in2": ("ozf/in2",)}
_GAUGE_ENDINGS = ("g", "(g)", " g", " (g)", " gauge")
_ABSOLUTE_ENDINGS = ("a", "(a)", " a", " (a)", " abs")

# Absurd sizes are refused: no gauge pressure, length or flow of a relief device comes near, and
# a gauge pressure below it fits a column of 14 digits, 6 of them decimals, in kPa.
LARGEST = 10**8


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `kind` is the unit it is counted in, `factor` its exact size in that unit."""

    symbol: str
    dimension: str
    kind: str
    factor: Fraction


@dataclass(frozen=True, slots=True)
class Spelling:
    """What one spelling means; `assumed_gauge` when it does not say gauge or absolute."""

    symbol: str
    assumed_gauge: bool = False


def _definitions() -> list[tuple[str, str, str]]:
    """(symbol, dimension, size) of every unit, the first of each kind before its multiples."""
    others = [(s, dim, size) for dim, units in _OTHERS.items() for s, size in units.items()]
    first = [("kPag", GAUGE, ""), ("kPaa", ABSOLUTE, "")]
    pressures = [
        (f"{bare}{ending}", dimension, size)
        for ending, dimension in (("g", GAUGE), ("a", ABSOLUTE))
        for bare, size in _PRESSURES.items()
        if bare != "kPa" and (ending == "g" or bare in ("psi", "bar", "MPa", "mbar", "kg/cm2"))
    ]
    return first + pressures + others


def _build() -> dict[str, Unit]:
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    units: dict[str, Unit] = {}
    kinds: dict[str, tuple[str, str]] = {}  # dimension -> (symbol, name in the registry)
    for number, (symbol, dimension, size) in enumerate(_definitions()):
        name = f"unit{number}"  # pint's own names hold no "/" and no "%"
        if size:
            kind, kind_name = kinds[dimension]
            registry.define(f"{name} = {size} * {kind_name}")
        else:
            kind, kind_name = kinds[dimension] = (symbol, name)
            registry.define(f"{name} = [{name}_dimension]")
        factor = registry.Quantity(Fraction(1), name).to(kind_name).magnitude
        units[symbol] = Unit(symbol, dimension, kind, Fraction(factor))
    return units


def _spell() -> dict[str, Spelling]:
    spelled: dict[str, Spelling] = {}
    for bare in _PRESSURES:
        for base in (bare, *_SPELLED_PRESSURES.get(bare, ())):
            spelled[base] = Spelling(f"{bare}g", assumed_gauge=True)
            spelled.update({base + end: Spelling(f"{bare}g") for end in _GAUGE_ENDINGS})
            if f"{bare}a" in UNITS:
                spelled.update({base + end: Spelling(f"{bare}a") for end in _ABSOLUTE_ENDINGS})
    for symbol, words in _SPELLINGS.items():
        spelled.update({word: Spelling(symbol) for word in (symbol, *words.split())})
    spelled |= {symbol: Spelling(symbol) for symbol in UNITS}
    return {word.casefold(): meaning for word, meaning in spelled.items()}


UNITS = _build()
SPELLINGS = _spell()


def units_of(dimensions: tuple[str, ...]) -> list[str]:
    """Symbols of the units of these dimensions, as the registry lists them."""
    return [unit.symbol for unit in UNITS.values() if unit.dimension in dimensions]
