"""First pops of a group together: how many failed which way, where the middle lies, and what that
many can tell. Percent of the cold test pressure. Bounds are counted, drawn, and never averaged."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import accumulate

from inspections.calc.chance import Interval, TwoGroups, interval, two_groups
from inspections.calc.verdicts import HIGH, LOW

ENOUGH = 3
STUCK = "stuck"


@dataclass(frozen=True)
class FirstPop:
    """One first pop, or `count` alike. `deviation` None: no pressure to judge it by. `is_bound`: no
    lift there, so the true value lies above. `verdict`: in, high, low, stuck, undecided or ""."""

    deviation: Fraction | None
    is_bound: bool
    verdict: str
    count: int = 1

    @property
    def is_judged(self) -> bool:
        return self.verdict in ("in", HIGH, LOW, STUCK)

    @property
    def is_failure(self) -> bool:
        return self.verdict in (HIGH, LOW, STUCK)


@dataclass(frozen=True)
class Population:
    """A group of first pops; `judged` of them had a tolerance to fail, `n` there are in all."""

    key: Hashable
    name: str
    pops: tuple[FirstPop, ...]

    @property
    def n(self) -> int:
        return sum(pop.count for pop in self.pops)

    @property
    def judged(self) -> int:
        return sum(pop.count for pop in self.pops if pop.is_judged)

    @property
    def failed(self) -> int:
        return sum(pop.count for pop in self.pops if pop.is_failure)

    def count(self, verdict: str) -> int:
        return sum(pop.count for pop in self.pops if pop.verdict == verdict)

    @property
    def share(self) -> Interval | None:
        """The share that failed, with its exact 95 % interval; None when nothing was judged."""
        return interval(self.failed, self.judged)

    @cached_property
    def exact(self) -> list[tuple[Fraction, int]]:
        """What opened at a pressure that can be compared, ascending, and how many did so there."""
        counts: Counter[Fraction] = Counter()
        for pop in self.pops:
            if pop.deviation is not None and not pop.is_bound:
                counts[pop.deviation] += pop.count
        return sorted(counts.items())

    @property
    def bounds(self) -> list[Fraction]:
        found = (
            [p.deviation] * p.count for p in self.pops if p.deviation is not None and p.is_bound
        )
        return sorted(bound for alike in found for bound in alike)

    @property
    def quartiles(self) -> tuple[Fraction, Fraction, Fraction] | None:
        """Of the exact ones alone, linear between the two next to each (type 7 of Hyndman and Fan
        1996); None with fewer than three of them."""
        ends = list(accumulate(count for _, count in self.exact))
        if not ends or ends[-1] < ENOUGH:
            return None

        def quarter(number: int) -> Fraction:
            place, part = divmod(number * (ends[-1] - 1), 4)
            below = self.exact[bisect_right(ends, place)][0]
            above = self.exact[bisect_right(ends, min(place + 1, ends[-1] - 1))][0]
            return below + (above - below) * Fraction(part, 4)

        return quarter(1), quarter(2), quarter(3)


def populations(pops: Iterable[tuple[Hashable, str, FirstPop]]) -> list[Population]:
    """Grouped, the worst share first; a group too small to say anything stands behind."""
    groups: dict[Hashable, list[FirstPop]] = {}
    names: dict[Hashable, str] = {}
    for key, name, pop in pops:
        groups.setdefault(key, []).append(pop)
        names[key] = name
    found = [Population(key, names[key], tuple(group)) for key, group in groups.items()]
    return sorted(found, key=_badness)


def _badness(group: Population) -> tuple:
    share = group.share
    is_few = group.judged < ENOUGH
    return (is_few, -(share.low if share else 0.0), -(share.rate if share else 0.0), group.name)


def compared(one: Population, other: Population) -> TwoGroups | None:
    """Failed against sound in two groups, exactly; None where one has nothing judged."""
    return two_groups(one.failed, one.judged, other.failed, other.judged)


def span_of(groups: Sequence[Population]) -> Fraction:
    """The widest pop that opened, at least 5 and at most 50 percent, for one common scale; a bound
    is at its edge anyway."""
    every = [abs(deviation) for group in groups for deviation, _ in group.exact]
    return min(Fraction(50), max([Fraction(5), *every]))
