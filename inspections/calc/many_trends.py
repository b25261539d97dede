"""Trend of many series at once: what `drift` answers for one, in floats, for a whole fleet.

Same definitions, same refusals, same sources (Sen 1968, Kendall 1975, EPA 2009 Unified Guidance
17.3). A series is a row; the work goes pair of readings by pair of readings over all rows, a block
of rows at a time so that it stays in the processor's own memory.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfc

from inspections.calc.drift import DAYS_PER_YEAR, ENOUGH, EXACT_UP_TO, upper_tail

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
BLOCK = 8192


@dataclass(frozen=True)
class Trends:
    """One entry for each series; NaN (and 0 for `s`) where there were fewer than four readings.

    `per_year` is Theil-Sen's slope in the unit of the values, NaN where all readings are of one
    day. `exact_p` is two-sided, NaN where two readings share a day or there are more than 60.
    """

    n: Whole
    s: Whole
    variance: Floats
    z: Floats
    normal_p: Floats
    exact_p: Floats
    per_year: Floats

    @property
    def p(self) -> Floats:
        """Two-sided: exact where that is known, else the normal approximation."""
        return np.where(np.isnan(self.exact_p), self.normal_p, self.exact_p)


def trends(days: ArrayLike, values: ArrayLike) -> Trends:
    """Slope and test of every row of two arrays of one shape, series by readings.

    `days` are ordinals (date.toordinal). A reading is missing where either is NaN; the readings of
    a series may come in any order.
    """
    days, values = np.asarray(days, float), np.asarray(values, float)
    missing = np.isnan(days) | np.isnan(values)
    days, values = np.where(missing, np.nan, days), np.where(missing, np.nan, values)
    blocks = [
        _block(days[start : start + BLOCK], values[start : start + BLOCK])
        for start in range(0, max(1, len(days)), BLOCK)
    ]
    return Trends(
        **{f.name: np.concatenate([getattr(b, f.name) for b in blocks]) for f in fields(Trends)}
    )


def _block(days: Floats, values: Floats) -> Trends:
    n = np.count_nonzero(~np.isnan(values), axis=1)
    enough = n >= ENOUGH
    pairs = _pairs(days.T, values.T)
    s = np.where(enough, pairs.s, 0)
    variance = np.where(enough, _variance(n, pairs.value_alike, pairs.day_alike), np.nan)
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(variance == 0, 0.0, (s - np.sign(s)) / np.sqrt(variance))
    exactly = enough & (n <= EXACT_UP_TO) & (pairs.day_alike.max(axis=0) <= 1)
    return Trends(
        n=n,
        s=s,
        variance=variance,
        z=z,
        normal_p=erfc(np.abs(z) / np.sqrt(2)),
        exact_p=_exact(s, pairs.value_alike, exactly),
        per_year=np.where(enough, _medians(pairs.slopes) * float(DAYS_PER_YEAR), np.nan),
    )


@dataclass(frozen=True)
class _Pairs:
    """What comparing every two readings of each series gives, series along the last axis.

    `*_alike`: for each reading how many are equal to it, itself among them, 0 for a missing one.
    `slopes`: a row for each series, NaN for a pair of one day or with a reading missing.
    """

    s: Whole
    value_alike: NDArray[np.int16]
    day_alike: NDArray[np.int16]
    slopes: Floats


def _pairs(days: Floats, values: Floats) -> _Pairs:
    width, count = values.shape
    present = (~np.isnan(values)).astype(np.int16)
    value_alike, day_alike = present.copy(), present.copy()
    slopes = np.empty((count, comb(width, 2)))
    s = np.zeros(count)
    with np.errstate(divide="ignore", invalid="ignore"):
        for pair, (i, j) in enumerate(combinations(range(width), 2)):
            rise, run = values[j] - values[i], days[j] - days[i]
            for alike, difference in ((value_alike, rise), (day_alike, run)):
                same = difference == 0
                alike[i] += same
                alike[j] += same
            s += np.nan_to_num(np.sign(rise) * np.sign(run))
            slopes[:, pair] = np.where(run == 0, np.nan, rise / run)
    return _Pairs(s.astype(np.int64), value_alike, day_alike, slopes)


def _medians(slopes: Floats) -> Floats:
    """Median of each row without its NaNs; NaN for a row of nothing else."""
    slopes.sort(axis=1)  # NaN goes last
    count = np.count_nonzero(~np.isnan(slopes), axis=1)
    rows = np.arange(len(slopes))
    if slopes.shape[1] == 0:
        return np.full(len(slopes), np.nan)
    low, high = (
        slopes[rows, np.maximum(count - 1, 0) // 2],
        slopes[rows, count // 2 % slopes.shape[1]],
    )
    return np.where(count > 0, (low + high) / 2, np.nan)


def _variance(n: Whole, values: NDArray[np.int16], days: NDArray[np.int16]) -> Floats:
    """Kendall's variance of S with ties in both, as `drift` has it for one series.

    A group of t equal readings is met t times, so t(t-1)(2t+5) over groups is (t-1)(2t+5) over
    readings.
    """

    def sums(of: Callable[[Whole], Whole]) -> tuple[Whole, Whole]:
        first, second = (of(np.maximum(x, 1).astype(np.int64)).sum(axis=0) for x in (values, days))
        return first, second

    (value_two, day_two) = sums(lambda t: t - 1)
    (value_three, day_three) = sums(lambda t: (t - 1) * (t - 2))
    (value_five, day_five) = sums(lambda t: (t - 1) * (2 * t + 5))
    # Over one common denominator in whole numbers, so that it is rounded once.
    whole = (
        (n * (n - 1) * (2 * n + 5) - value_five - day_five) * n * (n - 1) * (n - 2)
        + 2 * value_three * day_three
        + 9 * (n - 2) * value_two * day_two
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(whole / (18 * n * (n - 1) * (n - 2)))


def _exact(s: Whole, alike: NDArray[np.int16], exactly: NDArray[np.bool_]) -> Floats:
    """Exact two-sided p; series alike in their ties and in S share one answer."""
    p = np.full(len(s), np.nan)
    sizes = np.sort(alike[:, exactly], axis=0)
    keys, which = np.unique(
        np.vstack([sizes, np.abs(s[exactly]).astype(np.int16)]), axis=1, return_inverse=True
    )
    answers = [_two_sided(int(column[-1]), column[:-1].tolist()) for column in keys.T]
    p[exactly] = np.array(answers, float)[which.ravel()] if answers else np.nan
    return p


def _two_sided(s: int, alike: list[int]) -> float:
    groups = [size for size in set(alike) - {0} for _ in range(alike.count(size) // size)]
    return min(1.0, float(2 * upper_tail(s, groups)))
