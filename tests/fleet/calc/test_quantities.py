"""Exact arithmetic within a dimension, none across; text that says exactly the number."""

import copy
import pickle
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fleet.calc.registry import LARGEST, UNITS
from fleet.calc.typed import MAX_LENGTH
from fleet.calc.units import (
    ABSOLUTE,
    GAUGE,
    LENGTH,
    PERCENT,
    DimensionMismatch,
    Quantity,
    UnitsError,
    format_magnitude,
    gauge_to_absolute,
    parse_quantity,
)

symbols = st.sampled_from(sorted(UNITS))
numbers = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6)
PAIRS = [(a, b) for a in UNITS for b in UNITS if UNITS[a].kind == UNITS[b].kind]
ODD_PAIRS = [(a, b) for a in UNITS for b in UNITS if UNITS[a].kind != UNITS[b].kind]


def psig(text):
    return parse_quantity(f"{text} psig", (GAUGE,))


@given(numbers, st.sampled_from(PAIRS))
def test_there_and_back_is_the_same_number(number, pair):
    here, there = pair
    start = Quantity.of(number, here)
    assert start.to(there).to(here).magnitude == number
    assert start.to(there) == start and hash(start.to(there)) == hash(start)


@given(numbers, symbols)
def test_a_computed_text_reads_as_exactly_the_same_quantity(number, symbol):
    computed = Quantity.of(number, symbol)
    assume(abs(number * UNITS[symbol].factor) < LARGEST)
    read = parse_quantity(computed.text, (computed.dimension,))
    assert (read.magnitude, read.unit, read.text) == (number, symbol, computed.text)


@given(st.decimals(-9999, 9999, places=3), st.sampled_from(PAIRS))
def test_even_a_converted_text_fits_a_column_and_reads_back(number, pair):
    converted = Quantity.of(Fraction(number), pair[0]).to(pair[1])
    assert len(converted.text) <= MAX_LENGTH
    assume(abs(converted.magnitude * UNITS[pair[1]].factor) < LARGEST)
    assert parse_quantity(converted.text, (converted.dimension,)) == converted


@given(numbers, numbers, st.sampled_from(PAIRS))
def test_sums_and_order_do_not_depend_on_the_unit(one, two, pair):
    first, second = Quantity.of(one, pair[0]), Quantity.of(two, pair[0])
    moved = second.to(pair[1])
    assert (first - moved).magnitude == one - two
    assert (first + moved).magnitude == one + two
    assert (first < moved) == (one < two) and (first >= moved) == (one >= two)
    assert (first > moved) == (one > two) and (first <= moved) == (one <= two)
    assert (first == moved) == (one == two)


@pytest.mark.parametrize(
    "act",
    [
        lambda a, b: a + b,
        lambda a, b: a - b,
        lambda a, b: a < b,
        lambda a, b: a >= b,
        lambda a, b: a == b,
        lambda a, b: a != b,
        lambda a, b: a.to(b.unit),
    ],
)
@given(pair=st.sampled_from(ODD_PAIRS))
def test_nothing_crosses_from_one_kind_to_another(act, pair):
    with pytest.raises(DimensionMismatch):
        act(Quantity.of(1, pair[0]), Quantity.of(1, pair[1]))


def test_a_quantity_is_never_equal_to_a_plain_thing():
    assert psig("150") != 150 and psig("150") != "150 psig" and psig("150") != None  # noqa: E711
    assert psig("150") not in (None, "")


def test_equal_whatever_the_spelling():
    assert parse_quantity("1 3/8 in", (LENGTH,)) == parse_quantity("34.925 mm", (LENGTH,))
    assert len({psig("150"), psig("150.0")}) == 1


def test_a_difference_says_its_number():
    def inches(text):
        return parse_quantity(text, (LENGTH,))

    assert str(inches("1 3/8 in") - inches("5/16 in")) == "1 1/16 in"
    assert str(inches("5/16 in") - inches("1 3/8 in")) == "-1 1/16 in"
    assert str(inches("8 mm").to("in") - inches("5/16 in")) == "5/2032 in"
    assert str(inches("8 mm") - inches("5/16 in")) == "0.0625 mm"
    assert str(psig("150") - psig("0.25")) == "149.75 psig"
    assert str(abs(Quantity.of(-1, "notches"))) == "1 notch"
    assert str(-Quantity.of(Fraction(-5, 4), "turns")) == "1 1/4 turns"
    assert str(Quantity.of(0, "notches")) == "0 notches"


def test_the_same_unit_keeps_what_was_typed():
    typed = parse_quantity("150 psi", (GAUGE,))
    assert typed.to("psig") is typed
    assert typed.to("barg").assumed_gauge


def test_kpag_sorts_and_says_six_places_halves_away_from_zero():
    assert psig("150").kpag == Decimal("1034.213594")  # 150 x 6.894757293..., NIST SP 811
    assert Quantity.of(Fraction(5, 10**7), "kPag").kpag == Decimal("0.000001")
    assert Quantity.of(Fraction(-5, 10**7), "kPag").kpag == Decimal("-0.000001")
    assert str(Quantity.of(Fraction(-1, 10**9), "kPag").kpag) == "0.000000"
    with pytest.raises(DimensionMismatch):
        _ = parse_quantity("14.7 psia", (ABSOLUTE,)).kpag


def test_the_absolute_basis_trap():
    """US plant event report LER 335/2002-001: +1/-3 % on psia, limit 955.3 psig."""
    atmosphere = parse_quantity("14.7 psia", (ABSOLUTE,))
    low = Quantity.of(Fraction(97, 100) * 1000, "psia")
    assert gauge_to_absolute(psig("985.3"), atmosphere).text == "1000 psia"
    assert gauge_to_absolute(psig("955.30"), atmosphere) == low
    assert gauge_to_absolute(psig("955.5"), atmosphere) > low  # passes on absolute
    assert psig("955.5") < Quantity.of(Fraction(97, 100) * psig("985.3").magnitude, "psig")
    assert gauge_to_absolute(psig("954.9"), atmosphere) < low  # valve V8203, low


def test_the_bridge_takes_any_units_and_names_what_is_wrong():
    sea_level = parse_quantity("101.325 kPaa", (ABSOLUTE,))  # ISO 2533 standard atmosphere
    one_bar = parse_quantity("1 barg", (GAUGE,))
    assert gauge_to_absolute(one_bar, sea_level).text == "2.01325 bara"
    water = parse_quantity("1000 mmH2Og", (GAUGE,))
    assert gauge_to_absolute(water, sea_level).text == "111.13165 kPaa"
    for q, atmosphere in ((sea_level, sea_level), (one_bar, one_bar)):
        with pytest.raises(DimensionMismatch):
            gauge_to_absolute(q, atmosphere)
    with pytest.raises(DimensionMismatch):
        gauge_to_absolute(one_bar, Quantity.of(0, "kPaa"))


@pytest.mark.parametrize(
    ("number", "unit", "shown"),
    [
        (Fraction(11, 8), "in", "1 3/8"),
        (Fraction(-61, 4), "turns", "-15 1/4"),
        (Fraction(303, 1000), "in", "0.303"),
        (Fraction(1, 3), "in", "0.3333"),
        (Fraction(-7), "notches", "-7"),
        (Fraction(25, 2), "mm", "12.5"),
        (Fraction(2, 3), "psig", "0.6667"),
        (Fraction(-1, 10**6), "psig", "0"),
        (Fraction(1500), "psig", "1500"),
    ],
)
def test_a_magnitude_is_shown_as_people_write_it(number, unit, shown):
    assert format_magnitude(Quantity.of(number, unit)) == shown


def test_only_exact_numbers_in_known_units_exist():
    with pytest.raises(TypeError):
        Quantity(150.0, "psig", "150 psig")
    with pytest.raises(UnitsError):
        Quantity(Fraction(1), "psi", "1 psi")
    with pytest.raises(UnitsError):
        psig("1").to("psi")


def test_copies_and_pickles_are_the_same():
    typed = parse_quantity("150 psi", (GAUGE,))
    for twin in (copy.deepcopy(typed), pickle.loads(pickle.dumps(typed))):
        assert (twin, twin.text, twin.assumed_gauge) == (typed, "150 psi", True)


def test_an_error_says_what_was_typed_in_short_and_survives_a_process():
    error = UnitsError("\x00" + "9" * 1000, "a number")
    assert error.typed == "�" + "9" * 39 + "…"
    twin = pickle.loads(pickle.dumps(error))
    assert (twin.typed, twin.expected, str(twin)) == (error.typed, "a number", str(error))


def test_a_percentage_is_a_quantity_too():
    assert parse_quantity("-4.43 %", (PERCENT,)).magnitude == Fraction(-443, 100)
