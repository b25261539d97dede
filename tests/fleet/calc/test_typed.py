"""What people type is read exactly, kept as typed, and refused where it could mean two things."""

from fractions import Fraction

import pytest

from fleet.calc.registry import UNITS
from fleet.calc.units import (
    ABSOLUTE,
    GAS_FLOW,
    GAUGE,
    LEAK_RATE,
    LENGTH,
    LIQUID_FLOW,
    MASS_FLOW,
    NOTCHES,
    SPRING_RATE,
    TEMPERATURE,
    TURNS,
    UnitsError,
    parse_quantity,
)

EVERY = tuple({unit.dimension: None for unit in UNITS.values()})


def read(text, *dimensions, **settings):
    return parse_quantity(text, dimensions or EVERY, **settings)


@pytest.mark.parametrize(
    ("text", "dimension", "number", "unit"),
    [
        ("150 psig", GAUGE, 150, "psig"),
        ("10.3 barg", GAUGE, Fraction(103, 10), "barg"),
        ("10,3 barg", GAUGE, Fraction(103, 10), "barg"),
        ("1035 kPag", GAUGE, 1035, "kPag"),
        ("1.035 barg", GAUGE, Fraction(1035, 1000), "barg"),
        ("7 kg/cm2g", GAUGE, 7, "kg/cm2g"),
        ("7 kgf/cm²g", GAUGE, 7, "kg/cm2g"),
        ("-0.5 kPag", GAUGE, Fraction(-1, 2), "kPag"),
        ("−0.5 KPAG", GAUGE, Fraction(-1, 2), "kPag"),
        ("25 mmH2Og", GAUGE, 25, "mmH2Og"),
        ("25 mmH₂Og", GAUGE, 25, "mmH2Og"),
        ("8 oz/in2g", GAUGE, 8, "oz/in2g"),
        ("150psig", GAUGE, 150, "psig"),
        ("10 bar(g)", GAUGE, 10, "barg"),
        ("10 bar (a)", ABSOLUTE, 10, "bara"),
        ("14.7 PSIA", ABSOLUTE, Fraction(147, 10), "psia"),
        (".5 psig", GAUGE, Fraction(1, 2), "psig"),
        ("5/16 in", LENGTH, Fraction(5, 16), "in"),
        ("1 3/8 in", LENGTH, Fraction(11, 8), "in"),
        ("1  3/8  in", LENGTH, Fraction(11, 8), "in"),
        ("1-3/8 in", LENGTH, Fraction(11, 8), "in"),
        ("-1-3/8 in", LENGTH, Fraction(-11, 8), "in"),
        ("21 1/2 in", LENGTH, Fraction(43, 2), "in"),
        ('1⅜"', LENGTH, Fraction(11, 8), "in"),
        ("1 ⅜ inch", LENGTH, Fraction(11, 8), "in"),
        ("½ in", LENGTH, Fraction(1, 2), "in"),
        ("17⁄16 inches", LENGTH, Fraction(17, 16), "in"),
        ("12.5 mm", LENGTH, Fraction(25, 2), "mm"),
        ("12.5\u00a0mm", LENGTH, Fraction(25, 2), "mm"),
        ("1.25 cm", LENGTH, Fraction(5, 4), "cm"),
        ("-7 notches", NOTCHES, -7, "notches"),
        ("+155 notches", NOTCHES, 155, "notches"),  # as recorded in NRC IN 86-05
        ("1 notch", NOTCHES, 1, "notches"),
        ("15 1/4 turns", TURNS, Fraction(61, 4), "turns"),
        ("1 turn", TURNS, 1, "turns"),
        ("24270 kg/h", MASS_FLOW, 24270, "kg/h"),
        ("1200 scfm", GAS_FLOW, 1200, "scfm"),
        ("1200 Nm³/h", GAS_FLOW, 1200, "Nm3/h"),
        ("50 gpm", LIQUID_FLOW, 50, "gpm"),
        ("2000 lb/in", SPRING_RATE, 2000, "lb/in"),
        ("-29 °C", TEMPERATURE, -29, "degC"),
        ("20 bubbles/min", LEAK_RATE, 20, "bubbles/min"),
    ],
)
def test_reads_what_people_type(text, dimension, number, unit):
    quantity = read(text, dimension)
    assert (quantity.magnitude, quantity.unit, quantity.text) == (number, unit, text)
    assert quantity.dimension == dimension and not quantity.assumed_gauge


@pytest.mark.parametrize("bare", ["psi", "bar", "kPa", "MPa", "kg/cm2", "mbar", "inH2O"])
def test_a_bare_pressure_is_assumed_gauge_only_where_gauge_is_allowed(bare):
    quantity = read(f"150 {bare}", GAUGE)
    assert quantity.assumed_gauge and quantity.text == f"150 {bare}"
    assert quantity.unit == f"{bare}g"
    assert not read(f"150 {bare}g", GAUGE).assumed_gauge
    with pytest.raises(UnitsError, match="must say gauge or absolute"):
        read(f"150 {bare}", ABSOLUTE)


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "-", "n/a", "TBC", "psig", "150", "NaN", "nan psig", "inf psig", "1e9999",
        "1e3 psi",
        "9**9**9", "9**9**9 psig", "21 1/2/3", "21 1/2/3 psig", "5/0", "5/0 psig", "1 5/0 psig",
        "1 000 psi", "1 000 psig", "1\u00a0000 psig", "1'000 psig", "1_000 psig", "1,035 psig",
        "1,035,000 psig", "1,035.5 psig", "1.035,5 psig", "0,125 psig", "1.2.3 psig", "1. psig",
        "1,,5 psig", "1 psig 2", "1 5/4 psig", "1 1 psig", "1 -1/2 psig", "1-1 psig", "--1 psig",
        "± 3 psig", "- 7 psig", "1−1/2 psig", "1–1/2 psig", "½½ psig", "½ 1 psig", "1/½ psig",
        "٣ psig", "１０ psig", "Ⅷ psig", "² psig", "150 psig\n150", "150\npsig", "1\x005 psig",
        "150 psi.g", "150 bar x g", "150 barx", "0x10 psig", "1=1 psig", "=150 psig", "<150 psig",
        ">150 psig", "~150 psig", "150-160 psig", "150/160 psig to", "100000000 kPag",
        "99999999999 psig", "9" * 61 + " psig", "150 psia", "12 in", "1/2 turn", "15 degC",
    ],
)  # fmt: skip
def test_refuses_what_is_no_gauge_pressure_and_says_what_is(text):
    with pytest.raises(UnitsError) as refused:
        read(text, GAUGE)
    assert refused.value.expected
    shown = text.replace("\n", " ").replace("\u00a0", " ").replace("\x00", "�")
    assert refused.value.typed.rstrip("…") in shown


def test_a_unit_of_another_dimension_is_named():
    with pytest.raises(UnitsError, match="such as 150 psig; not absolute pressure"):
        read("14.7 psia", GAUGE)
    with pytest.raises(UnitsError, match="notches or turns, one number and its unit"):
        read("3 mm", NOTCHES, TURNS)


def test_the_header_gives_the_unit_once():
    quantity = read("150", GAUGE, header_unit="psig")
    assert (quantity.text, quantity.unit, quantity.assumed_gauge) == ("150 psig", "psig", False)
    assert read("150", GAUGE, header_unit="psi").text == "150 psi"
    assert read("150", GAUGE, header_unit="psi").assumed_gauge
    assert read("150 PSIG", GAUGE, header_unit="psig").text == "150 PSIG"


def test_a_cell_must_not_contradict_its_header():
    with pytest.raises(UnitsError, match="psig, the unit of the column"):
        read("10 barg", GAUGE, header_unit="psig")
    with pytest.raises(UnitsError) as refused:
        read("10", GAUGE, header_unit="furlong")
    assert refused.value.typed == "furlong"


@pytest.mark.parametrize(
    ("text", "mark", "number", "kept"),
    [
        ("1,035 barg", ",", Fraction(1035, 1000), "1.035 barg"),
        ("1,035 psig", ".", Fraction(1035), "1035 psig"),
        ("-1,035,000 mmH2Og", ".", Fraction(-1035000), "-1035000 mmH2Og"),
        ("1,035.5 psig", ".", Fraction(10355, 10), "1035.5 psig"),
        ("10,3 barg", ",", Fraction(103, 10), "10,3 barg"),
        ("10,3501 barg", ",", Fraction(103501, 10000), "10,3501 barg"),
        ("10.3 barg", ".", Fraction(103, 10), "10.3 barg"),
    ],
)
def test_a_named_decimal_mark_settles_the_comma(text, mark, number, kept):
    quantity = read(text, GAUGE, decimal_mark=mark)
    assert (quantity.magnitude, quantity.text) == (number, kept)
    assert read(quantity.text, GAUGE) == quantity  # the text alone says it now


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("1.035 barg", ","),
        ("10.3 barg", ","),
        (".5 barg", ","),
        ("1,2,3 barg", ","),
        ("10,3 barg", "."),
        ("10,35 barg", "."),
        ("1,0355 barg", "."),
        ("1035,000 barg", "."),
        ("1.035,000 barg", "."),
    ],
)
def test_the_other_mark_is_refused_once_one_is_named(text, mark):
    with pytest.raises(UnitsError, match=r"decimal mark|number"):
        read(text, GAUGE, decimal_mark=mark)


def test_a_mark_that_is_none_is_the_callers_mistake():
    with pytest.raises(ValueError, match="decimal_mark"):
        read("10 barg", GAUGE, decimal_mark=";")
