"""Exact counts against printed figures, scipy's own tests and plain enumeration."""

from fractions import Fraction
from itertools import combinations
from math import comb

import numpy as np
import pytest
from scipy.stats import binomtest, nchypergeom_fisher

from inspections.calc.chance import (
    binomial_tail,
    group_tail,
    interval,
    rate_of_others,
    tail_against_others,
    two_groups,
)


def test_binomial_tail_by_hand():
    """5 of 5 at 1/5 is 1/3125; at least 4 of 5 adds 5 * 4/5 * (1/5)^4."""
    assert binomial_tail(5, 5, 0.2) == pytest.approx(1 / 3125)
    assert binomial_tail(4, 5, 0.2) == pytest.approx(21 / 3125)
    assert binomial_tail(0, 5, 0.2) == 1
    assert np.isnan(binomial_tail(0, 0, 0.2))


def test_scipys_own_exact_test_agrees():
    for k in range(8):
        own = binomtest(k, 7, 0.13, alternative="greater").pvalue
        assert binomial_tail(k, 7, 0.13) == pytest.approx(own)


def test_a_device_is_judged_by_the_others():
    """5 of its 5, where all together have 15 of 105: the others have 10 of 100, plus the one case
    laid on them."""
    assert rate_of_others(5, 5, 15, 105) == pytest.approx(11 / 101)
    assert tail_against_others(5, 5, 15, 105) == pytest.approx((11 / 101) ** 5)


def test_the_first_case_in_a_spotless_fleet_is_no_certainty():
    p = tail_against_others([1, 0], [4, 4], 1, 24)
    assert p[0] == pytest.approx(1 - (20 / 21) ** 4)
    assert p[1] == 1


def test_group_tail_equals_every_way_to_deal_the_failures():
    fleet, group = range(9), {0, 1, 2}
    deals = [len(group & set(failed)) for failed in combinations(fleet, 4)]
    for k in range(4):
        dealt = sum(inside >= k for inside in deals)
        assert group_tail(k, 3, 4, 9) == pytest.approx(float(Fraction(dealt, comb(9, 4))))
    assert np.isnan(group_tail(0, 0, 4, 9))


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [
        # Newcombe 1998, Statistics in Medicine 17, table I, method 5 (from memory).
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0000, 0.1684),
        (1, 29, 0.0009, 0.1776),
        # Mendel's peas in the example of R's binom.test (from memory).
        (682, 925, 0.7077, 0.7654),
    ],
)
def test_exact_intervals_as_printed(k, n, low, high):
    found = interval(k, n)
    assert (found.low, found.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))
    assert found.rate == k / n


def test_none_failed_is_bounded_and_nothing_tested_is_not():
    """The largest rate that still gives no failure in ten one time in forty: 1 - .025^(1/10)."""
    assert interval(0, 10).high == pytest.approx(1 - 0.025**0.1)
    assert interval(10, 10).low == pytest.approx(0.025**0.1)
    assert interval(0, 0) is None


def test_fishers_tea():
    """Fisher 1935: 3 of 4 cups named rightly; R's fisher.test gives .4857 and 6.408309 (from
    memory)."""
    found = two_groups(3, 4, 1, 4)
    assert found.p == pytest.approx(34 / 70)
    assert found.odds_ratio == pytest.approx(6.408309, rel=1e-5)


def test_convictions_of_twins():
    """Fisher 1962, in the example of R's fisher.test (from memory): 2 of 17 against 10 of 13."""
    found = two_groups(2, 17, 10, 13)
    assert found.p == pytest.approx(0.0005367, abs=5e-8)
    assert found.odds_ratio == pytest.approx(0.04693661, rel=1e-5)
    # R prints 0.003325764 to 0.363182271; its root finder stops early at so small a number.
    assert found.low == pytest.approx(0.003325764, rel=3e-3)
    assert found.high == pytest.approx(0.363182271, rel=1e-4)


def test_the_odds_interval_leaves_one_in_forty_each_side():
    """Its definition: the odds at which so few, or so many, fall to the group 2.5 % of the time."""
    found = two_groups(2, 17, 10, 13)
    assert nchypergeom_fisher.sf(1, 30, 12, 17, found.low) == pytest.approx(0.025)
    assert nchypergeom_fisher.cdf(2, 30, 12, 17, found.high) == pytest.approx(0.025)


def test_groups_without_odds():
    nobody = two_groups(0, 5, 0, 9)
    assert np.isnan(nobody.odds_ratio) and nobody.p == 1
    assert two_groups(0, 0, 3, 9) is None
    assert two_groups(3, 3, 0, 4).odds_ratio == float("inf")
