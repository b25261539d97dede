"""Drift in service by hand, by another library's regression, and one against many."""

from fractions import Fraction as F

import numpy as np
import pytest

from inspections.calc.service_drift import drift, drifts


def test_with_equal_intervals_it_is_the_mean_a_year():
    """Changes 1, 2, 3 over two years each: mean 2 in two years; deviations -1, 0, 1."""
    found = drift([F(1), F(2), F(3)], [F(2)] * 3)
    assert (found.n, found.df) == (3, 2)
    assert found.per_year == 1
    assert found.variance == 1
    assert found.spread == F(1, 12)


def test_a_longer_interval_counts_for_more():
    """b = (1*1 + 1*1 + 6*3) / (1 + 1 + 9); residuals -9/11, -9/11, 6/11."""
    found = drift([F(1), F(1), F(6)], [F(1), F(1), F(3)])
    assert found.per_year == F(20, 11)
    assert found.variance == F(81 + 81 + 36, 121) / 2
    assert found.spread == F(1, 11)


def test_numpys_least_squares_agrees():
    rng = np.random.default_rng(2)
    t, m = rng.uniform(1, 6, 7), rng.normal(size=7)
    b, squares, *_ = np.linalg.lstsq(t[:, None], m, rcond=None)
    found = drift([F(x) for x in m], [F(x) for x in t])
    assert float(found.per_year) == pytest.approx(b[0])
    assert float(found.variance) == pytest.approx(squares[0] / 6)


def test_no_change_is_known_better_than_two_rounded_readings():
    """A rounding error is uniform over one step r: variance r^2/12, and two of them r^2/6."""
    still = drift([F(0)] * 4, [F(2)] * 4, F(3))
    assert (still.per_year, still.variance, still.at_floor) == (0, F(3, 2), True)
    loose = drift([F(9), F(-9), F(0)], [F(2)] * 3, F(3))
    assert (loose.variance, loose.at_floor) == (81, False)
    assert drift([F(0)] * 3, [F(1)] * 3).at_floor is False  # no resolution known, no floor


@pytest.mark.parametrize("n", [0, 1, 2])
def test_fewer_than_three_changes_give_no_number(n):
    assert drift([F(1)] * n, [F(2)] * n) is None
    assert np.isnan(drifts([0] * n, [1.0] * n, [2.0] * n, count=1).per_year[0])


def test_a_change_over_no_time_is_no_drift():
    """Two visits on one day: the second says how well it reads, not how it drifts."""
    assert drift([F(1)] * 3, [F(0), F(2), F(2)]) is None
    assert drift([F(1), F(1), F(1), F(5)], [F(1), F(1), F(1), F(0)]).n == 3


def test_many_are_the_same_as_each():
    rng = np.random.default_rng(4)
    sizes = rng.integers(0, 9, 200)
    of = np.repeat(np.arange(200), sizes)
    m = rng.integers(-4, 5, len(of)).astype(float)
    t = rng.integers(0, 2000, len(of)) / 365.25
    lost = rng.random(len(of)) < 0.1
    resolution = rng.integers(0, 3, 200)
    mixed = rng.permutation(len(of))
    found = drifts(of[mixed], np.where(lost, np.nan, m)[mixed], t[mixed], resolution, count=200)
    for i in range(200):
        kept = (of == i) & ~lost
        one = drift([F(x) for x in m[kept]], [F(x) for x in t[kept]], F(int(resolution[i])))
        if one is None:
            assert np.isnan([found.per_year[i], found.variance[i], found.spread[i]]).all()
            continue
        assert (found.n[i], found.at_floor[i]) == (one.n, one.at_floor)
        assert found.per_year[i] == pytest.approx(float(one.per_year), abs=1e-12)
        assert found.variance[i] == pytest.approx(float(one.variance))
        assert found.spread[i] == pytest.approx(float(one.spread))


def test_some_may_be_asked_for():
    found = drifts([0] * 3 + [1] * 3, [1.0, 1, 1, 2, 2, 2], [1.0] * 6, count=3)
    assert found.of(np.array([1])).per_year.tolist() == [2]
    assert found.is_enough.tolist() == [True, True, False]
