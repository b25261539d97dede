"""Drift in service: by how much a setting moves in a year, and how sure a few changes make of it.

Least squares through the origin of the changes m on their years in service t: what was left is
where the line starts, so no time means no change.
    per year   b  = sum(m t) / sum(t^2)
    variance   s2 = sum((m - b t)^2) / (n - 1), never under r^2/6
    spread     v  = 1 / sum(t^2), so that the variance of b is s2 v
With equal intervals b is the mean change per year. r is the resolution: two readings rounded to it
differ by an error of variance r^2/12 each, so no change is known better than r^2/6.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Two changes always look alike, or not, by luck; fewer than three say nothing.
ENOUGH = 3


@dataclass(frozen=True)
class Drift:
    """One series, exact: unit per year, unit squared, 1/year squared. `n` counts the changes.

    at_floor: the changes agree better than their resolution can tell, and the variance is only
    known to be no more than it says.
    """

    n: int
    per_year: Fraction
    variance: Fraction
    spread: Fraction
    at_floor: bool

    @property
    def df(self) -> int:
        return self.n - 1


@dataclass(frozen=True)
class Drifts:
    """Many series: arrays of one length, NaN where there were not enough changes."""

    n: NDArray[np.int64]
    per_year: NDArray[np.float64]
    variance: NDArray[np.float64]
    spread: NDArray[np.float64]
    at_floor: NDArray[np.bool_]

    @property
    def df(self) -> NDArray[np.int64]:
        return self.n - 1

    @property
    def is_enough(self) -> NDArray[np.bool_]:
        return ~np.isnan(self.per_year)

    def of(self, at: NDArray[np.int64]) -> "Drifts":
        """Those at these places."""
        return Drifts(
            self.n[at], self.per_year[at], self.variance[at], self.spread[at], self.at_floor[at]
        )


def drift(
    changes: Sequence[Fraction], years: Sequence[Fraction], resolution: Fraction = Fraction(0)
) -> Drift | None:
    """Drift of one series; None with fewer than three changes.

    `years` is the time in service of each change; one over no time in service says nothing of
    drift and is left out. `resolution` is in the unit of the changes, 0 when it is not known.
    """
    kept = [(m, t) for m, t in zip(changes, years, strict=True) if t > 0]
    if len(kept) < ENOUGH:
        return None
    spread = 1 / sum((Fraction(t * t) for _, t in kept), Fraction(0))
    per_year = spread * sum((Fraction(m * t) for m, t in kept), Fraction(0))
    squares = sum(((m - per_year * t) ** 2 for m, t in kept), Fraction(0))
    variance, floor = squares / (len(kept) - 1), floor_of(resolution)
    return Drift(len(kept), per_year, max(variance, floor), spread, 0 < floor >= variance)


def floor_of(resolution: Fraction) -> Fraction:
    """The least variance of a change between two readings rounded to this."""
    return resolution * resolution / 6


def drifts(
    series: ArrayLike,
    changes: ArrayLike,
    years: ArrayLike,
    resolution: ArrayLike = 0.0,
    *,
    count: int,
) -> Drifts:
    """Drift of `count` series at once; the same as `drift` of each, in floats.

    series: to which of them, 0 to count - 1, each of the changes belongs; any order, any number of
    changes each. A change that is NaN is not known, and left out. resolution: one for each
    series, or one for all.
    """
    of, m, t = np.asarray(series, np.int64), np.asarray(changes, float), np.asarray(years, float)
    kept = np.isfinite(m) & (t > 0)
    of, m, t = of[kept], m[kept], t[kept]
    n = np.bincount(of, minlength=count).astype(np.int64)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = 1 / np.bincount(of, t * t, minlength=count)
        per_year = spread * np.bincount(of, m * t, minlength=count)
        squares = np.bincount(of, (m - per_year[of] * t) ** 2, minlength=count)
        variance = squares / (n - 1)
    floor = np.broadcast_to(np.square(np.asarray(resolution, float)) / 6, count)
    enough = n >= ENOUGH
    b, s2, v = (
        np.where(enough, x, np.nan) for x in (per_year, np.maximum(variance, floor), spread)
    )
    # A hair over the floor is the floor: it is the arithmetic's own rounding.
    at_floor = enough & (floor > 0) & (variance <= floor * (1 + 1e-9))
    return Drifts(n, b, s2, v, at_floor)
