"""Blowdown limits and the resetting of a spring, by published figures.

ASME Section I: at most the greater of 4 % and 4 psi, at least the greater of 2 % and 2 psi, as a
valve handbook prints PG-72. ISO 4126-1: at most the greater of 15 % and 0.3 bar on gas, of 20 % and
0.6 bar on liquid. 49 CFR 180.407(d)(3): a cargo tank's valve reseats at 90 % of set or above.
46 CFR 54.15-10(g): a spring is reset within 10 % to 250 psi and within 5 % above.
"""

import pytest

from fleet.calc.units import GAUGE, parse_quantity
from inspections.calc.blowdown import blowdown, limits_of, said
from inspections.calc.resetting import beyond_spring


def q(text):
    return parse_quantity(text, (GAUGE,))


@pytest.mark.parametrize(
    ("tolerance", "phase", "opened", "reseated", "is_within"),
    [
        ("asme1", "steam", "300 psig", "288 psig", True),  # 4 % of 300 = 12
        ("asme1", "steam", "300 psig", "287.9 psig", False),
        ("asme1", "steam", "300 psig", "294 psig", True),  # 2 % = 6
        ("asme1", "steam", "300 psig", "294.1 psig", False),
        ("asme1", "steam", "50 psig", "46 psig", True),  # 4 psi rules
        ("asme1", "steam", "50 psig", "45.9 psig", False),
        ("asme1", "steam", "50 psig", "48.1 psig", False),  # 2 psi rules
        ("iso4126", "gas", "10 barg", "8.5 barg", True),
        ("iso4126", "steam", "10 barg", "8.49 barg", False),
        ("iso4126", "gas", "1 barg", "0.7 barg", True),  # 0.3 bar rules
        ("iso4126", "gas", "1 barg", "0.69 barg", False),
        ("iso4126", "liquid", "10 barg", "8 barg", True),
        ("iso4126", "liquid", "2 barg", "1.4 barg", True),  # 0.6 bar rules
        ("iso4126", "liquid", "2 barg", "1.39 barg", False),
        ("cargo-tank", "gas", "100 psig", "90 psig", True),
        ("cargo-tank", "gas", "100 psig", "89.9 psig", False),
    ],
)
def test_blowdown_is_held_to_its_code(tolerance, phase, opened, reseated, is_within):
    within, words = said(q(opened), q(reseated), q(opened), limits_of(tolerance, phase))
    assert within is is_within, words


@pytest.mark.parametrize(("tolerance", "phase"), [("asme8", "gas"), ("iso4126", "unknown")])
def test_where_no_limit_is_known_none_is_made_up(tolerance, phase):
    within, words = said(q("100 psig"), q("93 psig"), q("100 psig"), limits_of(tolerance, phase))
    assert within is None and "no limit is known" in words


def test_it_is_a_difference_of_gauge_pressures_in_the_unit_of_the_opening():
    assert blowdown(q("100 psig"), q("93 psig")) == q("7 psig")
    assert blowdown(q("10 barg"), q("950 kPag")) == q("0.5 barg")
    with pytest.raises(ValueError, match="above 100 psig"):
        blowdown(q("100 psig"), q("101 psig"))


@pytest.mark.parametrize(
    ("nameplate", "asked", "is_beyond"),
    [
        ("250 psig", "275 psig", False),
        ("250 psig", "225 psig", False),
        ("250 psig", "275.1 psig", True),
        ("251 psig", "263.55 psig", False),  # 5 % above 250 psi
        ("251 psig", "263.56 psig", True),
        ("10 barg", "11 barg", False),
        ("10 barg", "1101 kPag", True),
    ],
)
def test_a_spring_is_reset_within_its_share(nameplate, asked, is_beyond):
    assert bool(beyond_spring(q(nameplate), q(asked))) is is_beyond


def test_what_is_not_recorded_asks_nothing():
    assert beyond_spring(None, q("100 psig")) == beyond_spring(q("100 psig"), None) == ""
