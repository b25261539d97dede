"""First pops of a group together: how many failed which way, where the middle lies, and what that
many can tell. Percent of the cold test pressure. Bounds are counted, drawn, and never averaged."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import quantiles

from inspections.calc.chance import Interval, TwoGroups, interval, two_groups
from inspections.calc.verdicts import HIGH, LOW

ENOUGH = 3
STUCK = "stuck"


@dataclass(frozen=True)
class FirstPop:
    """One first pop. `deviation` None: no pressure to judge it by. `is_bound`: no lift there, so
    the true value lies above. `verdict`: in, high, low, stuck, undecided or ""."""

    deviation: Fraction | None
    is_bound: bool
    verdict: str

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
        return len(self.pops)

    @property
    def judged(self) -> int:
        return sum(pop.is_judged for pop in self.pops)

    @property
    def failed(self) -> int:
        return sum(pop.is_failure for pop in self.pops)

    def count(self, verdict: str) -> int:
        return sum(pop.verdict == verdict for pop in self.pops)

    @property
    def share(self) -> Interval | None:
        """The share that failed, with its exact 95 % interval; None when nothing was judged."""
        return interval(self.failed, self.judged)

    @property
    def exact(self) -> list[Fraction]:
        """What opened at a pressure that can be compared, ascending."""
        return sorted(p.deviation for p in self.pops if p.deviation is not None and not p.is_bound)

    @property
    def bounds(self) -> list[Fraction]:
        return sorted(p.deviation for p in self.pops if p.deviation is not None and p.is_bound)

    @property
    def quartiles(self) -> tuple[Fraction, Fraction, Fraction] | None:
        """Of the exact ones alone; None with fewer than three of them."""
        if len(self.exact) < ENOUGH:
            return None
        low, middle, high = quantiles(self.exact, n=4, method="inclusive")
        return low, middle, high


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
    every = [abs(deviation) for group in groups for deviation in group.exact]
    return min(Fraction(50), max([Fraction(5), *every]))
