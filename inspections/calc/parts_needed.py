"""How many of a part an outage is likely to take, counted from past overhauls of like devices.

Renewed at k of n past overhauls of the model, in how many of the next m is it? The interval is the
exact prediction interval for a binomial (A. R. Thatcher, J. R. Statist. Soc. B 26 (1964) 176-192,
from memory): given k + x renewals in all, x of them among the m to come is hypergeometric,
whatever the rate behind it. It takes every x that neither tail refuses, and so holds the true
number at least as often as it says. It supposes that the jobs to come are like those that were.
"""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scipy.stats import hypergeom

FEWEST = 5  # overhauls; of fewer nothing is said
CONFIDENCE = 0.9
ROUNDING = 1e-9  # a tail that is refused at its very limit is not kept by a rounding error
METHOD = "exact prediction interval of a binomial (Thatcher 1964, hypergeometric tails)"


@dataclass(frozen=True)
class PartNeed:
    """Renewed at `renewed` of `overhauls`; of `jobs` to come between `low` and `high` are."""

    part: str
    renewed: int
    overhauls: int
    jobs: int
    low: int
    high: int

    @property
    def expected(self) -> Fraction:
        return Fraction(self.renewed * self.jobs, self.overhauls)

    @property
    def about(self) -> int:
        """The expected number, halves upwards: what is fetched is whole."""
        return int(self.expected + Fraction(1, 2))

    @property
    def words(self) -> str:
        """`disc: renewed at 7 of 19 overhauls of this model: of 5 jobs expect 2 (0 to 4)`."""
        jobs = f"{self.jobs} job{'' if self.jobs == 1 else 's'}"
        return (
            f"{self.part}: renewed at {self.renewed} of {self.overhauls} overhauls of this model:"
            f" of {jobs} expect {self.about} ({self.low} to {self.high})"
        )


def parts_needed(
    overhauls: Sequence[Collection[str]], jobs: int, confidence: float = CONFIDENCE
) -> list[PartNeed] | None:
    """What `jobs` overhauls may take, by past ones: of each, the parts that were renewed.

    The likeliest first; a part that was never renewed is not in it. None: too few overhauls to
    say anything by. Part names are compared without regard to case.
    """
    if len(overhauls) < FEWEST or jobs < 1:
        return None
    names: dict[str, str] = {}
    counts: Counter[str] = Counter()
    for parts in overhauls:
        for part in parts:
            names.setdefault(part.strip().casefold(), part.strip())
        counts.update({part.strip().casefold() for part in parts})
    found = [_need(names[key], k, len(overhauls), jobs, confidence) for key, k in counts.items()]
    return sorted(found, key=lambda need: (-need.renewed, need.part.casefold()))


def _need(part: str, renewed: int, overhauls: int, jobs: int, confidence: float) -> PartNeed:
    low, high = prediction_interval(renewed, overhauls, jobs, confidence)
    return PartNeed(part, renewed, overhauls, jobs, low, high)


def prediction_interval(k: int, n: int, m: int, confidence: float) -> tuple[int, int]:
    """The least and the most x of m to come, after k of n: both ends belong to it.

    Raises ValueError unless 0 <= k <= n, n and m are at least 1 and confidence lies within 0..1.
    """
    if not (0 <= k <= n and n >= 1 and m >= 1 and 0 < confidence < 1):
        raise ValueError(f"no interval for {k} of {n}, {m} to come, at {confidence}")
    tail = (1 - confidence) / 2
    kept = [x for x in range(m + 1) if _is_kept(x, k, n, m, tail)]
    return min(kept), max(kept)


def _is_kept(x: int, k: int, n: int, m: int, tail: float) -> bool:
    """Is x of m no surprise on either side, when k + x of n + m are renewed in all?"""
    among = hypergeom(n + m, k + x, m)
    least = tail + ROUNDING
    return bool(among.cdf(x) > least and among.sf(x - 1) > least)
