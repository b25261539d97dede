"""Cold test pressure and set pressure against MAWP, against worked figures of the trade."""

from fractions import Fraction

import pytest

from fleet.calc.duty import (
    NoColdTestPressure,
    boiler_group_questions,
    cold_test_pressure,
    highest_set,
    set_pressure_question,
)
from fleet.calc.units import ABSOLUTE, GAUGE, DimensionMismatch, parse_quantity


def gauge(text):
    return parse_quantity(text, (GAUGE,))


def psig(number):
    return gauge(f"{number} psig")


# Worked figures from memory of the trade: conventional (150 - 20) x 1.02, bellows 150 x 1.02.
@pytest.mark.parametrize(
    ("kind", "back", "back_kind", "expected"),
    [
        ("spring", "20 psig", "constant", "132.6 psig"),
        ("bellows", "20 psig", "constant", "153 psig"),
    ],
)
def test_worked_cold_test_pressures(kind, back, back_kind, expected):
    found = cold_test_pressure(
        psig(150),
        kind=kind,
        back_pressure=gauge(back),
        back_pressure_kind=back_kind,
        multiplier=Fraction("1.02"),
    )
    assert found.pressure == gauge(expected)
    assert str(found.pressure) == expected


def test_back_pressure_in_another_unit_stays_exact():
    found = cold_test_pressure(
        gauge("10 barg"),
        kind="spring",
        back_pressure=gauge("100 kPag"),
        back_pressure_kind="constant",
    )
    assert str(found.pressure) == "9 barg"


def test_without_back_pressure_or_multiplier_it_is_the_set_and_the_words_say_what_is_missing():
    found = cold_test_pressure(psig(150), kind="pilot", back_pressure_kind="none")
    assert found.pressure == psig(150)
    assert "no temperature multiplier given" in found.words


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"kind": "spring", "back_pressure_kind": "variable"}, "back_pressure_kind"),
        ({"kind": "spring", "back_pressure_kind": "constant"}, "back_pressure"),
        ({"kind": "spring", "back_pressure": psig(20)}, "back_pressure_kind"),
        ({"kind": "bellows", "back_pressure": psig(20)}, "back_pressure_kind"),
        (
            {"kind": "spring", "back_pressure": psig(150), "back_pressure_kind": "constant"},
            "back_pressure",
        ),
        (
            {"kind": "pilot", "back_pressure": psig(20), "back_pressure_kind": "constant"},
            "kind",
        ),
        ({"kind": "rupture_disc"}, "kind"),
        ({"kind": "spring", "multiplier": Fraction(0)}, "temperature_multiplier"),
    ],
)
def test_no_single_cold_test_pressure_names_the_field(given, field):
    with pytest.raises(NoColdTestPressure) as refusal:
        cold_test_pressure(psig(150), **given)
    assert refusal.value.field == field


def test_absolute_back_pressure_is_refused():
    with pytest.raises(DimensionMismatch):
        cold_test_pressure(
            psig(150),
            kind="spring",
            back_pressure=parse_quantity("34.7 psia", (ABSOLUTE,)),
            back_pressure_kind="constant",
        )


# ASME Section VIII UG-134 / UG-125 as commonly applied: single or first device 100 % of MAWP,
# additional 105 %, fire 110 % (common practice; section text not re-read).
@pytest.mark.parametrize(
    ("role", "limit"), [("first", "200"), ("additional", "210"), ("fire", "220"), ("boiler", "206")]
)
def test_highest_set_by_duty_role(role, limit):
    assert highest_set(psig(200), role) == psig(limit)
    assert set_pressure_question(psig(limit), psig(200), role) == ""
    assert "above" in set_pressure_question(psig(f"{limit}.01"), psig(200), role)


def test_without_a_role_the_strictest_limit_asks():
    assert set_pressure_question(psig(200), psig(200), "") == ""
    assert "no duty role" in set_pressure_question(psig(205), psig(200), "")


def test_units_of_set_and_mawp_may_differ():
    # NIST SP 811: 1 psi = 6.894757 kPa, so 200 psig is 1378.951 kPag.
    assert set_pressure_question(gauge("1378.9 kPag"), psig(200), "first") == ""
    assert set_pressure_question(gauge("1379 kPag"), psig(200), "first")


# Worked from the rule of US Navy training manual NAVEDTRA 14259 at MAWP 600 psi.
@pytest.mark.parametrize(
    ("sets", "passes"),
    [
        ((600, 618), True),
        ((600, 620), False),
        ((606, 612), False),
        ((600, 540), True),
        ((600, 539), False),
    ],
)
def test_boiler_group_on_one_mawp(sets, passes):
    assert (boiler_group_questions(psig(600), [psig(s) for s in sets]) == ()) is passes


def test_each_fault_of_a_boiler_group_is_named():
    questions = boiler_group_questions(psig(600), [psig(610), psig(700)])
    assert len(questions) == 3
    assert boiler_group_questions(psig(600), []) == ()
