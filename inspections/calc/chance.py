"""Counts against chance, exactly: no normal approximation, however few there are.

A count of zero trials has no rate and no interval: NaN, or None, never nought.
"""

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import beta, binom, fisher_exact, hypergeom
from scipy.stats.contingency import odds_ratio

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Interval:
    """A rate with its exact interval, all between 0 and 1."""

    rate: float
    low: float
    high: float


@dataclass(frozen=True)
class TwoGroups:
    """Odds of the first group over those of the second, its interval, and Fisher's two-sided p.

    `odds_ratio` is the conditional maximum likelihood estimate, as R's fisher.test gives; 0 or
    infinite where one corner of the table is empty.
    """

    odds_ratio: float
    low: float
    high: float
    p: float


def binomial_tail(k: ArrayLike, n: ArrayLike, rate: ArrayLike) -> Floats:
    """P(k or more of n) when each happens at `rate`; NaN where n is 0."""
    k, n = np.asarray(k), np.asarray(n)
    return np.where(n > 0, binom.sf(k - 1, n, rate), np.nan)


def rate_of_others(k: ArrayLike, n: ArrayLike, fleet_k: ArrayLike, fleet_n: ArrayLike) -> Floats:
    """The fleet's rate with a device's own k of n left out, lest it hides behind itself.

    One case more is laid on the others, among one trial more, so that a fleet that never had any
    does not make a certainty of the first one.
    """
    others_k, others_n = np.asarray(fleet_k) - k, np.asarray(fleet_n) - n
    return np.asarray((others_k + 1) / (others_n + 1), float)


def tail_against_others(
    k: ArrayLike, n: ArrayLike, fleet_k: ArrayLike, fleet_n: ArrayLike
) -> Floats:
    """P(k or more of n) at the rate of the rest of the fleet; NaN where n is 0."""
    return binomial_tail(k, n, rate_of_others(k, n, fleet_k, fleet_n))


def group_tail(k: ArrayLike, n: ArrayLike, fleet_k: ArrayLike, fleet_n: ArrayLike) -> Floats:
    """P(k or more in a group of n) when fleet_k of fleet_n, group included, fell by lot.

    Exact hypergeometric tail. NaN where n is 0.
    """
    k, n, fleet_k, fleet_n = np.broadcast_arrays(k, n, fleet_k, fleet_n)
    p = np.where(n > 0, 1.0, np.nan)
    some = (k > 0) & (n > 0)  # the tail is slow, and most groups have no failure
    p[some] = hypergeom.sf(k[some] - 1, fleet_n[some], fleet_k[some], n[some])
    return p


def interval(k: int, n: int, confidence: float = 0.95) -> Interval | None:
    """Exact interval of a rate (Clopper and Pearson 1934), never narrower than it claims."""
    if n == 0:
        return None
    tail = (1 - confidence) / 2
    low = float(beta.ppf(tail, k, n - k + 1)) if k else 0.0
    high = float(beta.ppf(1 - tail, k + 1, n - k)) if k < n else 1.0
    return Interval(k / n, low, high)


def two_groups(k: int, n: int, other_k: int, other_n: int) -> TwoGroups | None:
    """k of n against other_k of other_n (Fisher 1935); None where a group is empty."""
    if n == 0 or other_n == 0:
        return None
    table = [[k, n - k], [other_k, other_n - other_k]]
    p = float(fisher_exact(table).pvalue)
    if k + other_k in (0, n + other_n):  # nobody, or everybody: no odds to compare
        return TwoGroups(nan, 0.0, float("inf"), p)
    found = odds_ratio(table)
    limits = found.confidence_interval(0.95)
    return TwoGroups(float(found.statistic), float(limits.low), float(limits.high), p)
