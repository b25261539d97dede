"""Coverage by capacity says what sizing by area says: the examples of API Std 520, Part I.

The register holds rated capacities as they are stamped, and neither molar mass nor temperature, so
it sizes nothing itself. Here the general library `fluids` does: it gives the area that an example
requires and what each standard orifice passes (API Std 526, effective areas in square inches), and
a set of orifices must cover the duty exactly where their areas add up to the required one.

Published results of the examples: gas 3699 mm2, subcritical 4248 mm2; steam 1100 mm2; correction
for pressure 0.9969 at 10,500 kPa (the standard's figures, as the library's documentation and
common texts quote them).
"""

from fractions import Fraction
from itertools import combinations_with_replacement

import fluids
import pytest

from fleet.calc.coverage import coverage
from fleet.calc.units import Quantity
from tests.fleet.calc.protected import Member, duty

GAS = {"m": 24270 / 3600, "T": 348.0, "Z": 0.90, "MW": 51.0, "k": 1.11, "P1": 670e3}
AREAS = {  # square inches, API Std 526
    "D": "0.110", "E": "0.196", "F": "0.307", "G": "0.503", "H": "0.785", "J": "1.287",
    "K": "1.838", "L": "2.853", "M": "3.60", "N": "4.34", "P": "6.38", "Q": "11.05",
}  # fmt: skip
SQUARE_INCH = Fraction("645.16")  # mm2, exact: 25.4 x 25.4


def gas_area(**more):
    return fluids.API520_A_g(**GAS, Kd=0.975, **more) * 1e6


def steam_area():
    """K_SH is of the standard's 7th edition, whose example this is."""
    return fluids.API520_A_steam(m=69615 / 3600, T=592.5, P1=12236e3, edition="7E") * 1e6


EXAMPLES = {
    "gas": (24270, gas_area(), 3699.05),
    "subcritical gas": (24270, gas_area(P2=532e3), 4248.36),
    "steam": (69615, steam_area(), 1103.47),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_library_gives_the_published_area(name):
    *_, area, published = EXAMPLES[name]
    assert area == pytest.approx(published, abs=0.01)


def test_the_published_steam_area_is_rounded():
    assert steam_area() == pytest.approx(1100, rel=0.004)


def test_the_correction_for_high_pressure_steam():
    assert fluids.API520_N(10500e3) == pytest.approx(0.99691, abs=1e-5)


def passes(letter, flow, area):
    """What an orifice passes under the example's conditions [kg/h]: flow goes with area."""
    return Fraction(AREAS[letter]) * SQUARE_INCH * flow / Fraction(area)


@pytest.mark.parametrize("name", EXAMPLES)
def test_orifices_cover_exactly_where_their_areas_do(name):
    flow, area, _ = EXAMPLES[name]
    answers = set()
    for letters in combinations_with_replacement("JKMNPQ", 2):
        members = [
            Member(f"P{n}", letter, Quantity.of(passes(letter, flow, area), "kg/h"))
            for n, letter in enumerate(letters)
        ]
        spare = Member("out", "out", Quantity.of(Fraction(1), "kg/h"), Quantity.of(flow, "kg/h"))
        shared = duty(spare, *members, kind="multiple", roles="duty additional additional")
        together = sum(Fraction(AREAS[letter]) * SQUARE_INCH for letter in letters)
        found = coverage(shared, ["out"]).kind
        assert found == ("covered" if together >= Fraction(area) else "short"), letters
        answers.add(found)
    assert "covered" in answers


def test_the_first_example_takes_a_p_orifice():
    """3699 mm2 lies between N (2800 mm2) and P (4116 mm2), as the example itself selects."""
    flow, area, _ = EXAMPLES["gas"]
    for letter, kind in (("N", "short"), ("P", "covered")):
        rated = Quantity.of(passes(letter, flow, area), "kg/h")
        one = duty(Member(1, letter, rated, Quantity.of(flow, "kg/h")))
        assert coverage(one, []).kind == kind
