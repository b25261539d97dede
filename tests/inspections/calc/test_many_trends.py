"""Many trends at once: the same numbers as one at a time, and as another library's."""

from fractions import Fraction

import numpy as np
import pytest
from pymannkendall import original_test

from inspections.calc import drift
from inspections.calc.many_trends import trends
from tests.inspections.calc.test_drift import OTHER_LIBRARIES, points

NAN = np.nan


def padded(rows, width):
    return np.array([[*map(float, row), *[NAN] * (width - len(row))] for row in rows])


def random_series(count, width, seed):
    """Values that tie, days that now and then coincide, readings that are lost, in any order."""
    rng = np.random.default_rng(seed)
    days = rng.integers(730_000, 730_000 + 60 * width, (count, width)).astype(float)
    values = rng.integers(-5, 6, (count, width)) / 4
    values[rng.random((count, width)) < 0.15] = NAN
    days[rng.random((count, width)) < 0.03] = NAN
    return days, values


@pytest.mark.parametrize(("width", "seed"), [(4, 1), (8, 2), (8, 3), (13, 4)])
def test_each_is_what_one_at_a_time_gives(width, seed):
    days, values = random_series(300, width, seed)
    many = trends(days, values)
    for i in range(300):
        kept = ~np.isnan(days[i]) & ~np.isnan(values[i])
        years = [Fraction(int(day)) / drift.DAYS_PER_YEAR for day in days[i][kept]]
        one = points(years, values[i][kept])
        test, slope = drift.mann_kendall(one), drift.theil_sen(one)
        assert many.n[i] == kept.sum()
        if test is None:
            assert np.isnan([many.variance[i], many.normal_p[i], many.per_year[i]]).all()
            continue
        assert (many.s[i], many.variance[i], many.z[i]) == (test.s, float(test.variance), test.z)
        assert many.normal_p[i] == pytest.approx(test.normal_p, rel=1e-13)
        assert many.p[i] == pytest.approx(test.p, rel=1e-13)
        assert np.isnan(many.exact_p[i]) == (test.exact_p is None)
        assert np.isnan(many.per_year[i]) == (slope is None)
        if slope is not None:
            assert many.per_year[i] == pytest.approx(float(slope), rel=1e-14, abs=1e-300)


def test_answers_of_other_libraries():
    """pymannkendall 1.4.3 and scipy 1.17.1 as committed beside the exact arithmetic's own test."""
    days, values, s, variance, z, p, slope, exact = zip(*OTHER_LIBRARIES, strict=True)
    many = trends(padded(days, 20), padded(values, 20))
    assert many.s.tolist() == list(s)
    assert many.variance == pytest.approx(variance)
    assert many.z == pytest.approx(z, abs=1e-6)
    assert many.normal_p == pytest.approx(p)
    assert many.per_year / 365.25 == pytest.approx(slope)
    for own, printed in zip(many.exact_p, exact, strict=True):
        assert printed is None or own == pytest.approx(printed)


def test_the_library_itself_on_random_series_with_ties():
    """Readings one apart, because its slope counts readings and knows no dates."""
    values = np.random.default_rng(8).integers(-4, 5, (200, 8)).astype(float)
    many = trends(np.tile(np.arange(8.0), (200, 1)), values)
    for i, row in enumerate(values):
        own = original_test(row)
        assert (many.s[i], many.variance[i]) == (own.s, pytest.approx(own.var_s))
        assert (many.z[i], many.normal_p[i]) == (pytest.approx(own.z), pytest.approx(own.p))
        assert many.per_year[i] / 365.25 == pytest.approx(own.slope)


def test_too_few_and_all_of_one_day():
    many = trends(
        [[1, 2, 3, NAN], [5, 5, 5, 5], [1, 2, 3, 4]], [[1, 2, 3, 4], [1, 2, 3, 4], [7, 7, 7, 7]]
    )
    assert many.n.tolist() == [3, 4, 4]
    assert np.isnan([many.p[0], many.per_year[0], many.per_year[1]]).all()
    assert (many.s[2], many.variance[2], many.p[2], many.per_year[2]) == (0, 0, 1, 0)


def test_no_series_and_one_column():
    assert len(trends(np.empty((0, 8)), np.empty((0, 8))).s) == 0
    assert np.isnan(trends([[1.0]], [[2.0]]).per_year).all()
