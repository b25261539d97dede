"""Moderated t: each series' variance drawn toward what its whole family says, few readings or many.

With three or four changes a series' own variance is nearly worthless: a plain t finds nothing, and
takes a lucky straight line for certain. The family's variances say what is usual (the prior); each
series' own counts by its degrees of freedom against the prior's.

Source: Smyth 2004, Linear models and empirical Bayes methods for assessing differential expression
in microarray experiments, Stat. Appl. Genet. Mol. Biol. 3(1) art. 3, section 6.2, and the R package
limma, whose floor of zero variances, whose pooled variance when the prior is infinite and whose
bound on the degrees of freedom are taken over (tested against it). Variances at the floor of the
resolution are left-censored, which is our own: see `_fit_censored`.
"""

from dataclasses import dataclass
from math import exp, inf, log

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.special import betainc, betaln, digamma, polygamma
from scipy.stats import t as student

Floats = NDArray[np.float64]

# A variance this far under the family's middle one is a coincidence of rounded readings; its
# logarithm would outweigh everybody (limma's figure).
LEAST_OF_MEDIAN = 1e-5
# Bounds of the censored fit, in logarithms of the degrees of freedom; beyond the upper one a
# chi-square and its mean cannot be told apart.
LOG_DF = (-3.0, 9.0)
PER_E = 50  # variances alike to 2 % are taken together there


@dataclass(frozen=True)
class Prior:
    """What a family says of a variance before its own series is looked at.

    df: how many degrees of freedom the family's word is worth; 0 = nothing, infinite = the series
    do not differ in variance beyond chance. variance: in the unit of the readings squared.
    pooled_df: those of all series it was fitted from, more than which no judgement can rest on.
    """

    df: float
    variance: float
    pooled_df: float = inf


@dataclass(frozen=True)
class Judged:
    """Moderated t of many series: arrays of one shape, NaN where there was nothing to judge.

    `variance` is the moderated one, `df` its degrees of freedom, `p` two-sided.
    """

    t: Floats
    df: Floats
    p: Floats
    variance: Floats


def fit_prior(variances: ArrayLike, df: ArrayLike, at_floor: ArrayLike = False) -> Prior:
    """The prior of one family from its residual variances and their degrees of freedom.

    Moments of log variance: its mean and what its scatter has beyond that of a chi-square. NaN and
    series without degrees of freedom are left out; with fewer than two series the family says
    nothing (df 0). `at_floor` marks variances that are only known to be no more than they say.
    """
    s2, own, floor = np.broadcast_arrays(
        np.asarray(variances, float), np.asarray(df, float), at_floor
    )
    known = np.isfinite(s2) & (own > 0)
    s2, own, floor = s2[known], own[known], floor[known]
    pooled = float(own.sum())
    if len(s2) < 2:
        return Prior(0.0, float(s2.mean()) if len(s2) else 0.0, pooled)
    if floor.any():
        return _fit_censored(s2, own, floor)
    s2 = floored(s2)
    e = np.log(s2) - digamma(own / 2) + np.log(own / 2)
    beyond = float(e.var(ddof=1) - polygamma(1, own / 2).mean())
    if beyond <= 0:
        return Prior(inf, float((s2 * own).sum() / pooled), pooled)
    half = trigamma_inverse(beyond)
    return Prior(2 * half, float(np.exp(e.mean() + digamma(half) - log(half))), pooled)


def _fit_censored(s2: Floats, own: Floats, at_floor: NDArray[np.bool_]) -> Prior:
    """Maximum likelihood where some variances are only known to lie at or under their floor.

    Readings coarser than their scatter put many series on the floor. Taken at face value they look
    all alike, the moments call the prior infinite, and devices that merely scatter more than others
    are flagged by the hundred. A variance over the prior's is F distributed; one at the floor says
    no more than "at most this".
    """
    (where, df, floor), count = np.unique(
        np.vstack([np.round(np.log(floored(s2)) * PER_E), own, at_floor]),
        axis=1,
        return_counts=True,
    )

    def unlikely(guess: Floats) -> float:
        d0 = exp(guess[0])
        z = where / PER_E - guess[1]
        x = df * np.exp(z)
        density = (df * (z + np.log(df)) + d0 * log(d0) - (df + d0) * np.log(d0 + x)) / 2
        at_most = np.log(np.maximum(betainc(df / 2, d0 / 2, x / (x + d0)), 1e-300))
        likely = np.where(floor > 0, at_most, density - betaln(df / 2, d0 / 2))
        return -float((count * likely).sum())

    start = np.array([log(4), log(float(np.median(s2)) or 1.0)])
    best = minimize(
        unlikely,
        start,
        method="Nelder-Mead",
        bounds=[LOG_DF, (None, None)],
        options={"xatol": 1e-4, "fatol": 1e-4},
    ).x
    d0 = inf if best[0] >= LOG_DF[1] - 0.01 else exp(best[0])
    return Prior(d0, exp(best[1]), float(own.sum()))


def floored(variances: Floats) -> Floats:
    """Variances with those at or near zero raised to a sliver of the family's median."""
    middle = float(np.median(variances))
    if middle == 0:
        positive = variances[variances > 0]
        middle = float(np.median(positive)) if len(positive) else 1.0
    return np.maximum(variances, LEAST_OF_MEDIAN * middle)


def trigamma_inverse(x: float) -> float:
    """The y with trigamma(y) = x > 0, by Newton's method on 1/trigamma (Smyth 2004, appendix)."""
    if x > 1e7:
        return float(1 / np.sqrt(x))
    if x < 1e-6:
        return 1 / x
    y = 0.5 + 1 / x
    for _ in range(50):
        trigamma = float(polygamma(1, y))
        step = trigamma * (1 - trigamma / x) / float(polygamma(2, y))
        y += step
        if -step / y < 1e-10:
            break
    return y


def moderated_variance(variances: ArrayLike, df: ArrayLike, prior: Prior) -> Floats:
    """Own variance and prior's, each by its degrees of freedom."""
    s2, own = np.asarray(variances, float), np.asarray(df, float)
    if prior.df == inf:
        return np.where(np.isnan(s2), np.nan, prior.variance)
    return np.asarray((own * s2 + prior.df * prior.variance) / (own + prior.df))


def judge(
    estimates: ArrayLike, variances: ArrayLike, df: ArrayLike, spread: ArrayLike, prior: Prior
) -> Judged:
    """Is each estimate away from zero? Its own variance is `spread` times the residual one.

    Two-sided p on own + prior degrees of freedom, never more than the whole family has. An estimate
    of exactly zero has t 0 and p 1 whatever its variance.
    """
    b, own = np.asarray(estimates, float), np.asarray(df, float)
    s2 = moderated_variance(variances, own, prior)
    total = np.minimum(own + prior.df, prior.pooled_df)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(b == 0, 0.0, b / np.sqrt(s2 * np.asarray(spread, float)))
    t = np.where(np.isnan(s2), np.nan, t)
    return Judged(
        t, np.broadcast_to(total, t.shape), np.asarray(2 * student.sf(np.abs(t), total)), s2
    )
