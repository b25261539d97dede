"""What the first pop means, and where to stop. API RP 576 6.2.9 as quoted beside each."""

import pytest

from fleet.calc.units import GAUGE, parse_quantity
from inspections.calc.pops import (
    cap_question,
    is_stuck_shut,
    lowest_cap,
    meaning,
    stuck_shut_at,
    within_percent,
)
from inspections.calc.verdicts import Band, Pop


def psig(number):
    return parse_quantity(f"{number} psig", (GAUGE,))


BAND = Band(psig(97), psig(103))


@pytest.mark.parametrize(
    ("caps", "in_place", "found"),
    [
        ((None, None, None), True, None),
        ((180, 200, 150), True, (150, "equipment")),
        ((180, 200, 150), False, (180, "owner")),
        ((None, 200, 150), False, (200, "rig")),
        ((None, None, 150), False, None),
    ],
)
def test_the_lowest_cap_entered_applies_and_none_is_made_up(caps, in_place, found):
    cap = lowest_cap(*(psig(c) if c else None for c in caps), in_place=in_place)
    if found is None:
        assert cap is None
    else:
        assert cap.pressure == psig(found[0]) and found[1] in cap.whose


def test_caps_in_different_units_are_compared_as_pressures():
    cap = lowest_cap(psig(150), parse_quantity("10 barg", (GAUGE,)), None, in_place=False)
    assert str(cap.pressure) == "10 barg"  # 145.04 psig


def test_a_pop_above_the_cap_is_questioned_and_one_on_it_is_not():
    cap = lowest_cap(psig(150), None, None, in_place=False)
    assert "1 psig above the cap of 150 psig, the owner's limit" in cap_question(psig(151), cap)
    bar = parse_quantity("10.5 barg", (GAUGE,))  # 152.29 psig
    assert "0.1579 barg above the cap of 150 psig" in cap_question(bar, cap)
    assert cap_question(psig(150), cap) == "" and cap_question(psig(999), None) == ""


def test_no_pop_by_half_as_much_again_is_stuck_shut():
    """API RP 576 6.2.9: 150 % of the cold differential test pressure."""
    assert stuck_shut_at(psig(100)) == psig(150)
    assert is_stuck_shut(Pop(psig(150), no_lift=True), psig(100))
    assert not is_stuck_shut(Pop(psig(149), no_lift=True), psig(100))
    assert is_stuck_shut(Pop(psig(-3)), psig(-2)) and not is_stuck_shut(Pop(psig(3)), psig(0))


@pytest.mark.parametrize(
    ("first", "later", "words"),
    [
        (100, [], "no further pop is needed"),
        (90, [], "a weak spring, a wrong last setting, or seat damage"),
        (110, [], "pop it again"),
        (110, [101], "deposits or sticking"),
        (110, [109, 100], "a wrong or a moved setting"),
        (110, [90], "adrift both ways"),
    ],
)
def test_what_the_first_pop_points_to(first, later, words):
    """API RP 576 6.2.9 (adrift both ways: our words)."""
    said = meaning(Pop(psig(first)), [psig(p) for p in later], BAND)
    assert words in said and "API RP 576" in said


def test_no_lift_below_the_band_points_to_nothing_yet():
    assert "nobody knows" in meaning(Pop(psig(100), no_lift=True), [], BAND)
    assert "pop it again" in meaning(Pop(psig(120), no_lift=True), [], BAND)


@pytest.mark.parametrize(
    ("pop", "no_lift", "within"),
    [
        (103, False, True),
        (104, False, False),
        (97, False, True),
        (101, True, None),
        (103, True, False),
    ],
)
def test_the_three_percent_are_held_apart_from_the_limit_in_force(pop, no_lift, within):
    assert within_percent(Pop(psig(pop), no_lift), psig(100), 3) is within
