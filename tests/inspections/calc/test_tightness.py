"""Seat tightness against API Std 527 (test pressures seen second-hand; tables from memory) and
the orifice letters of API Std 526 (seen)."""

from fractions import Fraction

import pytest

from fleet.calc.units import GAUGE, LEAK_RATE, parse_quantity
from inspections.calc import tightness
from inspections.calc.tightness import NoTightness, allowed, allowed_bubbles, pressure_to_test


def psig(number):
    return parse_quantity(f"{number} psig", (GAUGE,))


@pytest.mark.parametrize(("set_at", "test_at"), [(30, 25), (50, 45), (51, "45.9"), (100, 90)])
def test_a_seat_is_tested_below_set_by_the_greater_of_ten_percent_and_five_psi(set_at, test_at):
    """API Std 527, as quoted: 30 -> 25, 50 -> 45, 51 -> 45.9, 100 -> 90."""
    assert pressure_to_test(psig(set_at)) == psig(test_at)


def test_the_five_psi_are_five_psi_in_any_unit():
    found = pressure_to_test(parse_quantity("300 kPag", (GAUGE,)))
    assert found.unit == "kPag" and found.magnitude == 300 - psig(5).to("kPag").magnitude


@pytest.mark.parametrize("reference", ["5 psig", "0 psig", "-2 psig"])
def test_where_nothing_is_left_of_it_there_is_no_test_pressure(reference):
    with pytest.raises(NoTightness, match="no seat test pressure"):
        pressure_to_test(parse_quantity(reference, (GAUGE,)))


@pytest.mark.parametrize(
    ("orifice", "set_at", "bubbles"),
    [
        *[("D", at, n) for at, n in ((15, 40), (1000, 40), (1500, 60), (2000, 80), (2500, 100))],
        ("F", 6000, 100),
        *[("G", at, n) for at, n in ((1000, 20), (1500, 30), (2000, 40), (2500, 50), (3000, 60))],
        *[("T", at, n) for at, n in ((4000, 80), (5000, 100), (6000, 100))],
        ("D", 1499, 40),
        ("G", 3999, 60),
        ("t2", 150, 20),
        ("2J3", 150, None),
        ("not known", 150, None),
        ("", 150, None),
    ],
)
def test_bubbles_through_a_metal_seat(orifice, set_at, bubbles):
    """API Std 527 table, from memory."""
    if bubbles is None:
        with pytest.raises(NoTightness, match="no orifice letter"):
            allowed_bubbles(psig(set_at), orifice)
        return
    limit = allowed_bubbles(psig(set_at), orifice)
    assert str(limit.rate) == f"{bubbles} bubbles/min" and "from memory" in limit.words
    between = set_at > 1000 and set_at % 500 != 0
    assert ("between two rows the lower one is used" in limit.words) == between


def test_the_areas_are_those_of_the_standard_and_f_is_the_last_small_one():
    """API Std 526, effective areas in square inches (seen)."""
    printed = (
        "D .110, E .196, F .307, G .503, H .785, J 1.287, K 1.838, L 2.853, M 3.60, N 4.34, "
        "P 6.38, Q 11.05, R 16.0, T 26.0"
    )
    areas = {pair[0]: Fraction(pair[2:]) for pair in printed.split(", ")}
    assert areas == tightness.ORIFICE_AREAS
    assert tightness.ORIFICE_AREAS["F"] == tightness.SMALL_UP_TO
    assert len(tightness.ORIFICE_AREAS) == 14


@pytest.mark.parametrize(
    ("seat", "medium", "inlet", "rate"),
    [
        ("soft, PTFE", "air", "", "0 bubbles/min"),
        ("soft, PTFE", "water", "2 in", "0 bubbles/min"),
        ("metal", "steam", "", "0 bubbles/min"),
        ("metal", "water", "2 in", "20 cm3/h"),
        ("metal", "water", "1 1/2", "15 cm3/h"),
        ("metal", "water", "3/4 in", "10 cm3/h"),
        ("", "nitrogen", "", "20 bubbles/min"),
    ],
)
def test_each_seat_and_medium_has_its_rule(seat, medium, inlet, rate):
    """API Std 527, from memory."""
    limit = allowed(psig(150), orifice="J", seat=seat, medium=medium, inlet=inlet)
    assert str(limit.rate) == rate


@pytest.mark.parametrize("seat", ["metal, not soft", "non-soft", "Non soft metal"])
def test_a_seat_that_says_it_is_not_soft_is_not(seat):
    limit = allowed(psig(150), orifice="J", seat=seat, medium="air", inlet="")
    assert str(limit.rate) == "20 bubbles/min"


@pytest.mark.parametrize(
    ("medium", "inlet"),
    [
        ("gas", ""),
        ("water", ""),
        ("water", "DN 50"),
        ("water", "50"),
        ("water", "10"),
        ("", "2 in"),
    ],
)
def test_what_is_not_known_is_not_made_up(medium, inlet):
    with pytest.raises(NoTightness):
        allowed(psig(150), orifice="J", seat="metal", medium=medium, inlet=inlet)


@pytest.mark.parametrize(
    ("leak", "is_tight"),
    [("20 bubbles/min", True), ("21 bubbles/min", False), ("1 cm3/h", None)],
)
def test_a_leak_is_held_against_its_limit_in_its_own_unit_alone(leak, is_tight):
    limit = allowed_bubbles(psig(150), "J")
    found = tightness.leak_words(parse_quantity(leak, (LEAK_RATE,)), limit)
    assert found[0] is is_tight
