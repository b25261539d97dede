"""Trend of a few readings on their real dates: Theil-Sen slope and Mann-Kendall test.

Times are years of 365.25 days, values are exact fractions in the reader's own unit (notches,
inches, percent of CDTP). Slopes and small-sample probabilities stay exact fractions; only the
normal approximation is a float. Readings may come in any order.

Sources: Sen 1968 and Kendall 1975 as set out in EPA 2009 Unified Guidance 17.3; the exact
distribution of S is that of inversions of a word with repeated letters (MacMahon 1915).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from math import comb, erfc, lcm, prod, sqrt
from statistics import median
from typing import NamedTuple

Point = tuple[Fraction, Fraction]  # (time in years, value)

DAYS_PER_YEAR = Fraction(1461, 4)
# Three readings in a row rise by chance one time in six, so fewer than four say nothing;
# printed tables of the exact test also begin at four (Gilbert 1987, from memory).
ENOUGH = 4
# Beyond this the normal approximation differs from the exact answer in no digit anyone uses.
EXACT_UP_TO = 60


@dataclass(frozen=True)
class MannKendall:
    """S with its variance; `upper_p` is P(S or more) and `exact_p` two-sided, both without trend.

    The exact probabilities are None for long series and where two readings share a date.
    `z` carries the continuity correction; `normal_p` is its two-sided probability.
    """

    n: int
    s: int
    variance: Fraction
    z: float
    normal_p: float
    upper_p: Fraction | None
    exact_p: Fraction | None

    @property
    def p(self) -> float:
        """Two-sided: exact where that is known, else the normal approximation."""
        return self.normal_p if self.exact_p is None else float(self.exact_p)


@dataclass(frozen=True)
class Trend:
    """Slope per year of 365.25 days in the unit of the values, with the test that backs it."""

    per_year: Fraction
    test: MannKendall


def years(day: date) -> Fraction:
    """The day as exact years of 365.25 days; only differences between two of them mean anything."""
    return day.toordinal() / DAYS_PER_YEAR


def trend(readings: Sequence[tuple[date, Fraction]]) -> Trend | None:
    """Slope and test of dated readings; None when they are fewer than four or all of one day."""
    points = [(years(day), value) for day, value in readings]
    slope = theil_sen(points)
    test = mann_kendall(points)
    return Trend(slope, test) if slope is not None and test is not None else None


def theil_sen(points: Sequence[Point]) -> Fraction | None:
    """Median of the slopes of all pairs of different times; None when there is no such pair."""
    times, values = _whole([time for time, _ in points]), _whole([value for _, value in points])
    pairs = combinations(zip(times.numbers, values.numbers, strict=True), 2)
    rises = [(late - early, end - start) for (start, early), (end, late) in pairs if start != end]
    if not rises:
        return None
    return _median([(-rise, -run) if run < 0 else (rise, run) for rise, run in rises]) * Fraction(
        times.scale, values.scale
    )


class _Whole(NamedTuple):
    """Exact numbers as whole ones: each times `scale`."""

    numbers: list[int]
    scale: int


def _whole(exact: Sequence[Fraction]) -> _Whole:
    """Whole numbers compare and subtract many times faster than fractions do."""
    scale = lcm(*(x.denominator for x in exact))
    return _Whole([x.numerator * (scale // x.denominator) for x in exact], scale)


def _median(ratios: list[tuple[int, int]]) -> Fraction:
    """The median of rise/run, exact. Division rounds correctly, so it never turns an order round;
    only ratios it cannot tell apart are compared as fractions."""
    ratios.sort(key=lambda ratio: ratio[0] / ratio[1])
    middle = (len(ratios) - 1) // 2, len(ratios) // 2
    near = {ratios[i][0] / ratios[i][1] for i in middle}
    first = next(i for i, (rise, run) in enumerate(ratios) if rise / run in near)
    alike = sorted(Fraction(rise, run) for rise, run in ratios if rise / run in near)
    return median([alike[i - first] for i in middle])


def mann_kendall(points: Sequence[Point]) -> MannKendall | None:
    """The test for a rise or fall of any shape; None with fewer than four readings."""
    if len(points) < ENOUGH:
        return None
    times, values = _whole([time for time, _ in points]), _whole([value for _, value in points])
    s = sum(
        _sign(end - start) * _sign(late - early)
        for (start, early), (end, late) in combinations(
            zip(times.numbers, values.numbers, strict=True), 2
        )
    )
    value_ties = list(Counter(values.numbers).values())
    time_ties = list(Counter(times.numbers).values())
    variance = _variance(len(points), value_ties, time_ties)
    z = (s - _sign(s)) / sqrt(variance) if variance else 0.0
    upper = exact = None
    if max(time_ties) == 1 and len(points) <= EXACT_UP_TO:
        upper = upper_tail(s, value_ties)
        exact = min(Fraction(1), 2 * upper_tail(abs(s), value_ties))
    return MannKendall(len(points), s, variance, z, erfc(abs(z) / sqrt(2)), upper, exact)


def upper_tail(s: int, ties: Sequence[int]) -> Fraction:
    """P(S >= s) when every order is equally likely.

    `ties` holds the size of each group of equal values, so four different values are
    (1, 1, 1, 1). With i inversions among m unequal pairs, S = m - 2 i.
    """
    counts = _inversion_counts(tuple(sorted(ties)))
    most_inversions = (len(counts) - 1 - s) // 2
    return Fraction(sum(counts[: max(0, most_inversions + 1)]), sum(counts))


@lru_cache(maxsize=256)
def _inversion_counts(ties: tuple[int, ...]) -> list[int]:
    """How many orders have 0, 1, 2... inversions: coefficients of the Gaussian multinomial."""
    n = sum(ties)
    degree = comb(n, 2) - sum(comb(size, 2) for size in ties)
    counts = [1] + [0] * degree
    for i in range(1, n + 1):
        for k in range(degree, i - 1, -1):  # times (1 - q^i)
            counts[k] -= counts[k - i]
    for size in ties:
        for i in range(1, size + 1):
            for k in range(i, degree + 1):  # divided by (1 - q^i)
                counts[k] += counts[k - i]
    return counts


def _variance(n: int, value_ties: Sequence[int], time_ties: Sequence[int]) -> Fraction:
    """Kendall's variance of S with ties in both values and times (Kendall 1975)."""
    twos, threes, fives = zip(_tie_sums(value_ties), _tie_sums(time_ties), strict=True)
    return (
        Fraction(n * (n - 1) * (2 * n + 5) - sum(fives), 18)
        + Fraction(prod(threes), 9 * n * (n - 1) * (n - 2))
        + Fraction(prod(twos), 2 * n * (n - 1))
    )


def _tie_sums(ties: Sequence[int]) -> tuple[int, int, int]:
    """Sums of t(t-1), t(t-1)(t-2) and t(t-1)(2t+5) over the groups of equal values."""
    return (
        sum(t * (t - 1) for t in ties),
        sum(t * (t - 1) * (t - 2) for t in ties),
        sum(t * (t - 1) * (2 * t + 5) for t in ties),
    )


def _sign(x: Fraction | int) -> int:
    return (x > 0) - (x < 0)
