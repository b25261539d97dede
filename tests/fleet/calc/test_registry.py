"""Factors against NIST, against pint's own definitions, and the list of spellings itself."""

from fractions import Fraction

import pint
import pytest

from fleet.calc import registry
from fleet.calc.registry import SPELLINGS, UNITS

# NIST SP 811 (2008), appendix B.8, seven figures as printed: psi, kgf/cm2 and conventional inH2O
# as quoted from the publication, the other rows from memory.
NIST = [
    ("psig", "kPag", "6.894757"),
    ("psia", "kPaa", "6.894757"),
    ("kg/cm2g", "kPag", "98.0665"),
    ("inH2Og", "kPag", "0.2490889"),  # conventional
    ("mmH2Og", "kPag", "0.00980665"),  # conventional
    ("barg", "kPag", "100"),
    ("mbarg", "kPag", "0.1"),
    ("in", "mm", "25.4"),
    ("lb/h", "kg/h", "0.4535924"),
    ("lb/in", "N/mm", "0.1751268"),
]

# Our unit and its kind in the words of pint's default registry, a set of definitions not ours.
OTHER_REGISTRY = [
    ("psig", "psi", "kPa"),
    ("barg", "bar", "kPa"),
    ("MPag", "MPa", "kPa"),
    ("mbarg", "mbar", "kPa"),
    ("kg/cm2g", "kgf/cm**2", "kPa"),
    ("inH2Og", "inch_H2O", "kPa"),
    ("mmH2Og", "0.1 * centimeter_H2O", "kPa"),
    ("oz/in2g", "ozf/inch**2", "kPa"),
    ("psia", "psi", "kPa"),
    ("bara", "bar", "kPa"),
    ("in", "inch", "mm"),
    ("cm", "cm", "mm"),
    ("lb/h", "lb/hour", "kg/hour"),
    ("gpm", "gallon/minute", "m**3/hour"),
    ("lb/in", "lbf/inch", "N/mm"),
]


@pytest.mark.parametrize(("symbol", "kind", "printed"), NIST)
def test_factors_are_those_of_nist_sp_811(symbol, kind, printed):
    assert UNITS[symbol].kind == kind
    printed_figures = Fraction(printed)
    half_a_digit = Fraction(1, 2 * 10 ** len(printed.partition(".")[2]))
    exact = printed in ("98.0665", "0.00980665", "100", "0.1", "25.4")
    assert abs(UNITS[symbol].factor - printed_figures) <= (0 if exact else half_a_digit)


@pytest.fixture(scope="module")
def other_registry():
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(("symbol", "theirs", "kind"), OTHER_REGISTRY)
def test_factors_are_exactly_those_of_another_set_of_definitions(
    other_registry, symbol, theirs, kind
):
    assert UNITS[symbol].factor == other_registry.parse_expression(theirs).to(kind).magnitude


def test_what_must_not_be_converted_shares_no_kind():
    kinds = {}
    for unit in UNITS.values():
        kinds.setdefault(unit.kind, set()).add(unit.dimension)
    assert all(len(dimensions) == 1 for dimensions in kinds.values())
    apart = ("kPag", "kPaa", "notches", "turns", "scfm", "Nm3/h", "degC", "degF", "bubbles/min")
    assert {UNITS[symbol].kind for symbol in apart} == set(apart)


def test_every_dimension_has_units_and_an_example():
    dimensions = {unit.dimension for unit in UNITS.values()}
    assert dimensions == set(registry.EXAMPLES)
    assert registry.units_of((registry.NOTCHES, registry.TURNS)) == ["notches", "turns"]


def test_no_spelling_can_be_taken_for_part_of_a_number():
    assert all(word == word.casefold().strip() for word in SPELLINGS)
    assert not [word for word in SPELLINGS if word[0] in "0123456789.,/-+−½¼¾ "]


def test_a_spelling_says_absolute_only_with_its_a():
    for word, spelling in SPELLINGS.items():
        if UNITS[spelling.symbol].dimension == registry.ABSOLUTE:
            assert word.removesuffix(" abs").rstrip(")").endswith("a") or word.endswith(" abs")


def test_only_pressures_without_gauge_or_absolute_are_assumed_gauge():
    assumed = {word for word, spelling in SPELLINGS.items() if spelling.assumed_gauge}
    assert assumed == {
        "psi", "bar", "kpa", "mpa", "kg/cm2", "kgf/cm2", "mbar", "inh2o", "mmh2o", "oz/in2",
        "ozf/in2",
    }  # fmt: skip
