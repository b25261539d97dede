"""Moderated t against R limma, and against the textbook at both ends of the prior."""

from math import inf, pi

import numpy as np
import pytest
from scipy import stats
from scipy.special import polygamma

from inspections.calc.moderated import (
    Prior,
    fit_prior,
    floored,
    judge,
    moderated_variance,
    trigamma_inverse,
)

# R limma 3.54.1, eBayes(lmFit()) of an intercept alone, ten series of six.
SERIES = [
    (0.4, -0.2, 0.9, 0.1, -0.6, 0.3),
    (1.8, 2.2, 1.5, 2.6, 1.9, 2.1),
    (-0.1, 0, 0.2, -0.3, 0.1, 0),
    (3, -2.5, 1, -4, 2.2, 0.6),
    (-1.1, -0.8, -1.4, -0.9, -1.6, -1),
    (0.7, 0.5, -0.9, 0.2, 1.3, -0.4),
    (0, 0.1, -0.1, 0.1, 0, -0.1),
    (2.1, -1.9, 0.3, 0.8, -0.7, -0.2),
    (0.6, 1.1, 0.9, 0.2, 0.8, 1.2),
    (-0.5, 0.6, 0.1, -0.2, 0.4, -0.7),
]
DF, VARIANCE = 1.268846704, 0.103024659
T_AND_P = {
    2: (13.502312, 7.210994e-06),
    5: (-8.943110, 8.505614e-05),
    9: (5.517564, 1.289318e-03),
}


def test_limma_to_six_figures():
    x = np.array(SERIES)
    s2 = x.var(axis=1, ddof=1)
    prior = fit_prior(s2, 5)
    assert prior.df == pytest.approx(DF, rel=1e-9)
    assert prior.variance == pytest.approx(VARIANCE, rel=1e-8)
    judged = judge(x.mean(axis=1), s2, 5, 1 / 6, prior)
    for number, (t, p) in T_AND_P.items():
        assert judged.t[number - 1] == pytest.approx(t, rel=5e-7)
        assert judged.p[number - 1] == pytest.approx(p, rel=5e-7)
        assert judged.df[number - 1] == pytest.approx(5 + DF)


def test_without_a_prior_it_is_students_t():
    x = np.array(SERIES)
    judged = judge(x.mean(axis=1), x.var(axis=1, ddof=1), 5, 1 / 6, Prior(0, 1))
    student = stats.ttest_1samp(x, 0, axis=1)
    assert judged.t == pytest.approx(student.statistic)
    assert judged.p == pytest.approx(student.pvalue)


def test_variances_that_differ_less_than_chance_give_an_infinite_prior():
    """limma: the prior variance is then the pooled one, and no more degrees of freedom than the
    whole family has."""
    prior = fit_prior([1.0, 1.1, 0.9, 1.05], [3, 3, 3, 6])
    assert (prior.df, prior.pooled_df) == (inf, 15)
    assert prior.variance == pytest.approx((3 * 1.0 + 3 * 1.1 + 3 * 0.9 + 6 * 1.05) / 15)
    judged = judge([2.0], [9.0], [3], [0.25], prior)
    assert judged.t[0] == pytest.approx(2 / (prior.variance * 0.25) ** 0.5)
    assert (judged.df[0], judged.p[0]) == (15, pytest.approx(2 * stats.t.sf(judged.t[0], 15)))


@pytest.mark.parametrize("x", [1e-8, 0.01, 0.5, 1, pi**2 / 6, 40, 1e8])
def test_trigamma_inverse_undoes_trigamma(x):
    assert polygamma(1, trigamma_inverse(x)) == pytest.approx(x, rel=1e-6)


def test_trigamma_of_one_is_pi_squared_over_six():
    assert trigamma_inverse(pi**2 / 6) == pytest.approx(1)


def test_what_was_drawn_is_found_again():
    """Smyth's own model: variances drawn from a prior of 4 degrees of freedom and variance 2."""
    rng = np.random.default_rng(11)
    true = 2 * 4 / rng.chisquare(4, 50_000)
    df = rng.integers(2, 9, 50_000)
    prior = fit_prior(true * rng.chisquare(df) / df, df)
    assert prior.df == pytest.approx(4, rel=0.05)
    assert prior.variance == pytest.approx(2, rel=0.03)


def test_what_was_drawn_is_found_again_under_a_floor():
    """The same with every variance under 1.0 only known to be no more than that."""
    rng = np.random.default_rng(11)
    true = 2 * 4 / rng.chisquare(4, 50_000)
    s2 = true * rng.chisquare(4, 50_000) / 4
    prior = fit_prior(np.maximum(s2, 1), 4, s2 <= 1)
    assert prior.df == pytest.approx(4, rel=0.05)
    assert prior.variance == pytest.approx(2, rel=0.03)


def test_no_variance_at_all_is_not_divided_by():
    prior = fit_prior([0.0, 0.0, 0.0, 1.0], 3)
    judged = judge([0.0, 0.1, 0.0, 1.0], [0.0, 0.0, 0.0, 1.0], 3, 0.25, prior)
    assert np.isfinite(judged.t).all()
    assert (judged.t[0], judged.p[0]) == (0, 1)
    assert fit_prior([0.0, 0.0, 0.0], 3).variance >= 0


def test_a_variance_near_nothing_does_not_outweigh_everybody():
    """limma's fitFDist: raised to 1e-5 of the family's median, and nothing else is touched."""
    raised = floored(np.array([0.0, 1e-12, 2e-4, 1.0, 2.0, 3.0, 4.0]))
    assert raised == pytest.approx([1e-5, 1e-5, 2e-4, 1, 2, 3, 4], rel=1e-12)
    usual = fit_prior([1e-300, *np.linspace(0.5, 2, 40)], 4)
    assert usual.df == pytest.approx(fit_prior([1e-5, *np.linspace(0.5, 2, 40)], 4).df, rel=0.05)


def test_too_few_say_nothing():
    assert fit_prior([], 3).df == 0
    assert fit_prior([2.0, np.nan], 3) == Prior(0, 2, 3)
    judged = judge([np.nan], [np.nan], [0], [np.nan], Prior(4, 1))
    assert np.isnan(judged.t[0]) and np.isnan(judged.p[0])
    assert np.isnan(moderated_variance([np.nan], [0], Prior(inf, 1))[0])
