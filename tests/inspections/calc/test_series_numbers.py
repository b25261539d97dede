"""The few numbers of a series that the whole fleet is screened by, by hand."""

from fractions import Fraction

import pytest

from fleet.calc.units import LENGTH, NOTCHES, parse_quantity
from inspections.calc.flags import Looking
from inspections.calc.movements import series
from inspections.calc.series_numbers import numbers_of, resolution_in, typed_step
from tests.inspections.calc.histories import FLAT, STOP, pops, psig, rings, setting, visit

NOTCH = Looking(resolution=parse_quantity("1 notch", (NOTCHES,)))


def ring(*pairs, looking=NOTCH):
    return numbers_of(series("lower_ring", rings(*pairs)), looking)


def test_movements_in_service_and_resets_in_the_shop_are_told_apart():
    """As-left -9 each time; found 3, 0, 1 up of it. Resets of 3, 0 and 1: one beyond a notch."""
    found = ring(
        ("-9 notches", "-9 notches"),
        *((f"{value} notches", "-9 notches") for value in (-6, -9, -8)),
    )
    assert (found.family, found.changes) == ("lower_ring in notches", 3)
    assert found.per_year == pytest.approx(4 / 3, abs=0.01)
    assert (found.resets, found.reset_of) == (1, 4)


def test_a_reset_of_one_step_is_two_honest_readings():
    found = ring(*[("-8 notches", "-9 notches")] * 4)
    assert (found.resets, found.reset_of) == (0, 4)


def test_a_ring_that_never_moved_scatters_by_its_resolution():
    """Two readings to one notch: variance 1/6, and no more is known of it."""
    found = ring(*[("-9 notches", "-9 notches")] * 5)
    assert (found.variance, found.at_floor, found.per_year) == (pytest.approx(1 / 6), True, 0)


def test_lengths_are_pooled_in_millimetres_however_they_were_typed():
    """1/8 in = 3.175 mm more at each visit, about a year apart."""
    inch = Looking(resolution=parse_quantity("1/64 in", (LENGTH,)))
    visits = [("1 in", "1 in"), *[("1 1/8 in", "1 in")] * 3]
    found = numbers_of(series("screw_height", rings(*visits)), inch)
    assert found.family == "screw_height in mm"
    assert found.per_year == pytest.approx(3.175, abs=0.01)
    assert found.variance == pytest.approx((25.4 / 64) ** 2 / 6)


def test_two_visits_on_one_day_are_no_time_in_service():
    visits = rings(*[("-8 notches", "-9 notches")] * 4)
    again = visit(2018, setting("-7 notches"), setting("-9 notches"))
    found = numbers_of(series("lower_ring", [*visits, again]), NOTCH)
    assert found.changes == 3
    few = numbers_of(series("lower_ring", [*visits[2:], again]), NOTCH)
    assert (few.changes, few.per_year) == (1, None)


def test_another_measure_is_another_family_and_what_was_before_is_left_out():
    visits = rings(*[("-8 notches", "-9 notches")] * 5)
    visits += [visit(2020 + n, setting("1 in", FLAT), setting("1 in", FLAT)) for n in range(2)]
    found = numbers_of(series("lower_ring", visits), NOTCH)
    assert (found.family, found.changes, found.per_year) == ("lower_ring in mm", 1, None)


def test_the_last_movement_from_each_datum_and_only_beyond_the_resolution():
    visits = rings(*[(f"{-9 + up} notches", "-9 notches") for up in (0, 4, 1)])
    visits += [visit(2018 + n, setting(f"{2 * n} notches", FLAT), setting("0 notches", FLAT))
               for n in (0, 1)]  # fmt: skip
    found = numbers_of(series("lower_ring", visits), NOTCH)
    days_and_signs = [(day, sign) for day, sign, _ in found.moved]
    assert days_and_signs == [("2017-03-01", 0), ("2019-03-01", 1)]
    assert len({datum for *_, datum in found.moved}) == 2
    back = ring(("-9 notches", "-9 notches"), ("-13 notches", "-9 notches"))
    assert [sign for _, sign, _ in back.moved] == [-1]


def test_pops_are_counted_from_no_datum_and_reset_as_the_work_itself():
    found = numbers_of(series("set_pressure", pops(*[("99", "100")] * 4)), Looking())
    assert (found.family, found.changes) == ("set_pressure in %", 3)
    assert (found.resets, found.reset_of, found.moved) == (0, 0, ())
    assert found.per_year == pytest.approx(-1, abs=0.01)


def test_the_coarser_of_two_pops_says_how_finely_a_movement_is_known():
    """Typed to 1 psi and to 0.1 psi at 100: the movement is known to 1 %, variance 1/6."""
    mixed = series("set_pressure", pops(("100", "100.0"), *[("100.0", "100.0")] * 3))
    fine = numbers_of(mixed, Looking())
    assert fine.variance == pytest.approx(0.1**2 / 6)  # each movement is between two tenths
    coarse = series("set_pressure", pops(("100", "100.0"), *[("100", "100.0")] * 3))
    assert numbers_of(coarse, Looking()).variance == pytest.approx(1 / 6)
    once = series("set_pressure", pops(*[("100.0", "100.0")] * 3, ("100", "100.0")))
    assert numbers_of(once, Looking()).variance == pytest.approx(1 / 6)
    assert resolution_in(once) == 1


@pytest.mark.parametrize(
    ("typed", "step"), [("150", "1"), ("150.5", "0.1"), ("150.50", "0.01"), ("150,5", "0.1")]
)
def test_a_decimal_that_was_typed_was_read(typed, step):
    assert typed_step(psig(typed)) == Fraction(step)


def test_bounds_and_cuts_give_no_change():
    assert ring(("-9 notches", None), (None, "-9 notches")).family == ""
    moved = visit(2016, setting("-9 notches", FLAT), setting("-9 notches", STOP))
    visits = [*rings(("-9 notches", "-9 notches")), moved]
    assert numbers_of(series("lower_ring", visits), NOTCH).changes == 0
