"""The library of rules and tolerances: complete, sourced, and readable by the shapes."""

from fractions import Fraction

import pytest

from fleet.calc.activities import ACTIVITIES
from fleet.calc.intervals import SHAPES
from fleet.calc.library import NoBand, rules, tolerance_from, tolerances
from fleet.calc.units import GAUGE, UnitsError, parse_quantity


def gauge(text: str):
    return parse_quantity(text, (GAUGE,))


@pytest.mark.parametrize("rule", rules().values(), ids=lambda rule: rule.id)
def test_every_rule_reads_as_its_shape_and_says_where_it_comes_from(rule):
    assert rule.kind in SHAPES
    assert rule.shape.parameters() == rule.parameters
    assert rule.citation and rule.edition and rule.note
    assert set(rule.activities) <= set(ACTIVITIES)
    assert rules()[rule.id] is rule


@pytest.mark.parametrize("tolerance", tolerances().values(), ids=lambda tolerance: tolerance.id)
def test_every_tolerance_says_where_it_comes_from_and_reads_back(tolerance):
    assert tolerance.citation and tolerance.edition and tolerance.note
    stored = tolerance_from(tolerance.id, tolerance.definition)
    assert stored.bands == tolerance.bands
    assert all(row.low <= row.high or row.low == row.high for row in tolerance.bands)


def test_nothing_from_memory_passes_as_read():
    remembered = [
        row for row in [*rules().values(), *tolerances().values()] if "memory" in row.edition
    ]
    assert remembered
    assert not [row.id for row in remembered if row.verified]


def test_which_tolerances_there_are():
    assert set(tolerances()) == {
        "asme8",
        "asme8-liquefied-gas-fire",
        "asme1",
        "iso4126",
        "cargo-tank",
        "disc",
    }


@pytest.mark.parametrize(
    ("code", "set_pressure", "low", "high", "from_memory"),
    [
        # ASME VIII UG-134(d), by way of API RP 576 6.2.9.8; its metric rows from memory
        ("asme8", "15 psig", "-2 psig", "2 psig", False),
        ("asme8", "70 psig", "-2 psig", "2 psig", False),
        ("asme8", "70.1 psig", "-3 %", "3 %", False),
        ("asme8", "500 kPag", "-15 kPag", "15 kPag", True),
        ("asme8", "5 barg", "-15 kPag", "15 kPag", True),
        ("asme8", "501 kPag", "-3 %", "3 %", True),
        ("asme8-liquefied-gas-fire", "100 psig", "0 %", "10 %", False),
        # ASME I PG-72.2 as printed in a valve maker's handbook; its metric rows from memory
        ("asme1", "70 psig", "-2 psig", "2 psig", False),
        ("asme1", "300 psig", "-3 %", "3 %", False),
        ("asme1", "301 psig", "-10 psig", "10 psig", False),
        ("asme1", "1000 psig", "-10 psig", "10 psig", False),
        ("asme1", "1001 psig", "-1 %", "1 %", False),
        ("asme1", "70 barg", "-70 kPag", "70 kPag", True),
        ("iso4126", "2.0 barg", "-3 %", "3 %", False),  # ISO 4126-1:2013/Amd 1:2016
        ("cargo-tank", "3.3 psig", "0 %", "10 %", False),  # 49 CFR 180.407(d)(3)
        # burst tolerance of a disc, ASME VIII UG-127, from memory
        ("disc", "40 psig", "-2 psig", "2 psig", False),
        ("disc", "41 psig", "-5 %", "5 %", False),
        ("disc", "3 barg", "-15 kPag", "15 kPag", False),
    ],
)
def test_the_row_is_chosen_in_the_unit_that_was_typed(code, set_pressure, low, high, from_memory):
    row = tolerances()[code].row_for(gauge(set_pressure))
    assert (str(row.low), str(row.high), row.from_memory) == (low, high, from_memory)


def test_iso_never_comes_closer_than_a_tenth_of_a_bar():
    floor = tolerances()["iso4126"].bands[0].floor
    assert floor is not None and floor.to("barg").magnitude == Fraction(1, 10)


@pytest.mark.parametrize(
    ("code", "set_pressure"),
    [  # API RP 576: under 15 psig the owner specifies; a vacuum has no band in these codes
        ("asme8", "14.99 psig"),
        ("asme8", "1 barg"),
        ("asme8-liquefied-gas-fire", "10 psig"),
        ("asme1", "10 psig"),
        ("disc", "14 psig"),
        ("asme8", "-20 kPag"),
        ("iso4126", "0.05 barg"),
        ("iso4126", "-0.5 barg"),
    ],
)
def test_no_band_is_guessed_where_the_code_gives_none(code, set_pressure):
    with pytest.raises(NoBand, match="owner specifies"):
        tolerances()[code].row_for(gauge(set_pressure))


def test_a_site_s_own_tolerance_may_end():
    own = tolerance_from(
        "ours", {"basis": "gauge", "bands": [{"up_to": "50 psig", "low": "-1 psig", "high": "3 %"}]}
    )
    assert str(own.row_for(gauge("50 psig")).low) == "-1 psig"
    with pytest.raises(NoBand, match="51 psig"):
        own.row_for(gauge("51 psig"))


@pytest.mark.parametrize(
    "definition",
    [
        {"basis": "sideways", "bands": []},
        {"basis": "absolute", "bands": []},
        {"basis": "gauge", "atmosphere": "14.7 psia", "bands": []},
        {"basis": "absolute", "atmosphere": "14.7 psig", "bands": []},
    ],
)
def test_gauge_and_absolute_need_each_their_own_words(definition):
    with pytest.raises((ValueError, UnitsError)):
        tolerance_from("ours", definition)
