"""The two movements kept apart, and every cut. Definitions: the trade's own (service movement
= as-found(n+1) - as-left(n), shop reset = as-left(n) - as-found(n)); figures worked by hand."""

import random
from fractions import Fraction

import pytest

from inspections.calc.movements import RESET, SERVICE, series
from inspections.calc.verdicts import round_half_away
from tests.inspections.calc.histories import FLAT, percent, pop, pops, psig, rings, setting, visit


def changes(found, kind):
    return [str(s.change) if s.change else s.cut.reason for s in found.steps if s.kind == kind]


def test_service_movements_and_shop_resets_of_a_ring():
    found = series("lower_ring", rings(("-7 notches", "-7 notches"), ("-5 notches", "-7 notches")))
    assert changes(found, SERVICE) == ["2 notches"]
    assert changes(found, RESET) == ["0 notches", "-2 notches"]
    assert (found.n, str(found.last_as_found), str(found.last_as_left)) == (
        2,
        "-5 notches",
        "-7 notches",
    )
    assert str(found.last_service_movement.change) == "2 notches"
    assert str(found.last_shop_reset.change) == "-2 notches"
    assert found.last_deviation is None


def test_visits_may_come_in_any_order():
    visits = rings(*[(f"{n} notches", f"{n + 1} notches") for n in range(6)])
    shuffled = random.Random(3).sample(visits, len(visits))
    assert series("lower_ring", shuffled) == series("lower_ring", visits)


def test_millimetres_and_fractional_inches_subtract_exactly():
    visits = [visit(2015, None, setting("1 in")), visit(2016, setting("25 mm"), None)]
    found = series("upper_ring", visits)
    assert found.steps[1].change.to("in").magnitude == Fraction(25) / Fraction("25.4") - 1
    assert found.steps[1].change.unit == "mm"  # the unit of the later reading


def test_a_datum_change_cuts_and_says_so():
    visits = [
        *rings(("7 notches", "7 notches")),
        visit(2016, setting("7 notches"), setting("7 notches", FLAT)),
        visit(2017, setting("9 notches", FLAT), setting("7 notches", FLAT)),
    ]
    found = series("lower_ring", visits)
    assert changes(found, RESET)[1].startswith("datum was from ring touching")
    assert changes(found, SERVICE) == ["0 notches", "2 notches"]
    assert found.steps[3].cut is None and found.steps[2].cut.kind == "datum"


def test_another_measure_cuts():
    visits = [visit(2015, None, setting("7 notches")), visit(2016, setting("5/16 in"), None)]
    assert "measured as 7 notches" in series("lower_ring", visits).steps[1].cut.reason


def test_without_a_datum_nothing_is_subtracted():
    found = series("lower_ring", rings(("7 notches", "7 notches"), ("9 notches", None), datum=""))
    assert all(step.change is None for step in found.steps)


def test_what_is_missing_stays_missing():
    """The last values are the last visit's own, never an older reading."""
    visits = rings(("7 notches", "7 notches"), ("9 notches", None), (None, "7 notches"))
    found = series("lower_ring", visits)
    assert changes(found, SERVICE) == ["2 notches", "no as-left of 2016-03-01 (R-2016)"]
    assert changes(found, RESET)[1:] == [
        "no as-left of 2016-03-01 (R-2016)",
        "no as-found of 2017-03-01 (R-2017)",
    ]
    assert found.last_as_found is None and str(found.last_as_left) == "7 notches"
    assert found.last_service_movement.change is None
    assert found.n == 3


def test_a_renewed_part_cuts_the_visit_it_was_renewed_in():
    visits = [
        *pops(("97", "100"), renewed="new spring"),
        visit(2016, pop("99"), None, method="bench"),
    ]
    found = series("set_pressure", visits)
    assert changes(found, RESET)[0] == "new spring on 2015-03-01 (R-2015)"
    assert changes(found, SERVICE) == ["-1 %"]


def test_pops_move_in_percent_of_the_cold_test_pressure_of_their_day():
    """LER 388/2009-001: 1123 against 1175, deviation -4.43 % (printed -4.42, truncated)."""
    visits = [
        *pops((None, "150"), cdtp=150),
        visit(2016, pop("1123", 1175), pop("1175", 1175), method="bench"),
    ]
    found = series("set_pressure", visits)
    assert round_half_away(found.last_deviation, 2) == round_half_away(Fraction("-4.43"), 2)
    assert found.last_service_movement.change == percent(Fraction(-52 * 100, 1175))
    assert found.last_shop_reset.change == percent(Fraction(52 * 100, 1175))


@pytest.mark.parametrize(
    ("before", "after", "joined"),
    [
        ("bench", "bench", True),
        ("maker", "bench", True),
        ("bench", "in_place_assist", False),  # NRC IN 94-56: another measurement
        ("in_place_pressure", "in_place_assist", False),
        ("bench", "", False),
    ],
)
def test_pops_are_pooled_by_method(before, after, joined):
    visits = [
        visit(2015, None, pop("100"), method=before),
        visit(2016, pop("99"), None, method=after),
    ]
    step = series("set_pressure", visits).steps[1]
    assert (step.cut is None) is joined
    if not joined:
        assert step.cut.kind == "method"


def test_method_does_not_matter_to_a_ring():
    visits = [
        visit(2015, None, setting("7 notches"), method="maker"),
        visit(2016, setting("7 notches"), None, method=""),
    ]
    assert series("lower_ring", visits).steps[1].cut is None


def test_a_pop_that_never_came_gives_a_bound_and_no_movement():
    """As printed for NRC IN 96-03: "> +6.1 %" is no value."""
    visits = [
        *pops((None, "100")),
        visit(2016, pop("106.1", no_lift=True), pop("100"), method="bench"),
    ]
    found = series("set_pressure", visits)
    moved, reset = found.last_service_movement, found.last_shop_reset
    assert (moved.change, moved.bound) == (None, percent(Fraction("6.1")))
    assert (reset.change, reset.bound) == (None, percent(Fraction("-6.1")))
    assert found.last_deviation is None
    assert (found.high_count, found.low_count) == (1, 0)


def test_high_and_low_are_counted_apart_by_the_band_of_the_day():
    visits = [
        *pops(("97", "100"), ("96.9", "100"), ("103.1", "100"), ("104", "100")),
        visit(2020, pop("101", no_lift=True), pop("100"), method="bench"),
    ]
    found = series("set_pressure", visits)
    assert (found.high_count, found.low_count, found.out_of_tolerance_count) == (2, 1, 3)


def test_no_cold_test_pressure_no_percent():
    bare = pop("100").__class__(psig(100))
    found = series("set_pressure", [visit(2015, None, bare), visit(2016, bare, None)])
    assert "no cold test pressure" in found.steps[1].cut.reason


def test_a_trend_is_of_as_found_values_since_the_last_cut():
    falling = [(str(100 - n), "100") for n in range(5)]
    found = series("set_pressure", pops(*falling))
    assert found.found_trend.test.s == -10
    # 2015-03-01 to 2019-03-01 are exactly four years of 365.25 days; the middle slopes are near -1.
    assert -1.01 < found.found_trend.per_year < -0.99
    cut = pops(*falling)
    cut[2] = visit(2017, pop("98"), pop("100"), method="bench", renewed="new spring")
    assert series("set_pressure", cut).found_trend is None  # two readings since


def test_no_trend_over_bounds_or_over_two_datums():
    falling = pops(*[(str(100 - n), "100") for n in range(5)])
    falling[4] = visit(2019, pop("110", no_lift=True), pop("100"), method="bench")
    assert series("set_pressure", falling).found_trend is None
    ring = rings(*[(f"{n} notches", "0 notches") for n in range(4)])
    assert series("lower_ring", ring).found_trend.test.s == 6
    ring.append(visit(2019, setting("4 notches", FLAT), None))
    assert series("lower_ring", ring).found_trend is None


def test_no_visits_at_all():
    found = series("lower_ring", [])
    assert (found.n, found.last_as_found, found.last_service_movement) == (0, None, None)
