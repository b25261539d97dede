"""The screen: which settings of a whole fleet will not stay where they are put, within a budget.

Three questions, each with its own share of the one budget of false flags. Shares that add up to the
budget hold it however the answers hang together (a device that moves is reset as well), and a rich
answer to one question does not loosen another:
- `trending`: the drift in service is not nought. Moderated t, one prior for each family;
- `resets_above_fleet`: reset beyond the resolution more often than the rest of its pool, by the
  exact binomial tail. Devices differ by nature, so it says "more often than usual", not "faulty";
- `common_cause`: failing together (`common_cause.py`).

What the shape of readings and tiny numbers do, measured at a budget of one in ten on fleets of
20,000 (`tests/inspections/calc/test_screen_holds.py`), 200 of them moving, variances as unlike as a
prior of 8 degrees of freedom makes them, the whole budget on drift:
- normal readings: of movers by 3 of their standard deviations over 4 changes nine of ten are found,
  by 2 over 7 changes eight, a tenth of the flags false; with six tenths of the budget eight and
  seven;
- heavier tails (Laplace, t of 4 degrees of freedom) cost power, not honesty: they look like devices
  of unlike variance, the prior weakens, seven or eight of ten are found, under one in 25 false;
- readings lost, unequal intervals, readings rounded to one or three standard deviations, settings
  that are never put back (one reading error in two changes): the budget holds;
- three changes find little unless the family's variances are alike; fewer are not judged at all;
- not held: scatter that grows with time in service, where intervals run from one to six years and
  variances are unlike as well. There half of such fleets showed a false flag or two among 20,000.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inspections.calc.chance import rate_of_others, tail_against_others
from inspections.calc.common_cause import CommonCause, Outcome, common_causes
from inspections.calc.discovery import Discoveries, discoveries
from inspections.calc.moderated import Judged, Prior, fit_prior, judge
from inspections.calc.service_drift import Drifts

TRENDING, RESETS_ABOVE_FLEET, COMMON_CAUSE = "trending", "resets_above_fleet", "common_cause"
# Of the budget, so much for each question: drift is what most series are asked about.
SHARES = {TRENDING: 0.6, RESETS_ABOVE_FLEET: 0.2, COMMON_CAUSE: 0.2}
BUDGET = 0.1
ENOUGH_OVERHAULS = 3  # two overhauls give no rate
# A prior from few series is itself guesswork: up to five times the false flags it should give, with
# twenty series of three changes. So it is never worth more than a tenth of a change a series.
WORTH_OF_A_SERIES = 0.1


@dataclass(frozen=True)
class Fleet:
    """Every series of the fleet, one entry each in all of these.

    family: series whose variances may be pooled (setting, unit). pool: series that share a rate of
    shop resets (the setting). `resets` of `reset_of` shop resets went beyond the resolution; 0 of
    0 for what is turned at every overhaul anyway. `outcomes` are as many as were seen.
    """

    keys: Sequence[Hashable]
    families: Sequence[str]
    drifts: Drifts
    pools: Sequence[str]
    resets: NDArray[np.int64]
    reset_of: NDArray[np.int64]
    outcomes: Sequence[Outcome] = ()


@dataclass(frozen=True)
class Trending:
    """Why one series is flagged: unit per year over `n` changes, and its moderated test."""

    key: Hashable
    per_year: float
    n: int
    t: float
    df: float
    p: float
    q: float
    variance: float
    prior: Prior


@dataclass(frozen=True)
class ResetsAbove:
    """`resets` of `reset_of` overhauls, where the others of its pool have `rate`."""

    key: Hashable
    resets: int
    reset_of: int
    rate: float
    p: float
    q: float


@dataclass(frozen=True)
class Screen:
    """What was flagged, most certain first, and what it was judged by.

    judged, too_few: series with a drift that was judged, and with not enough readings for one.
    `expected_false` is an upper figure of all false flags, a common cause being one flag. `drift`
    and the answers stand in the order of the fleet's series (NaN = not judged).
    """

    budget: float
    trending: tuple[Trending, ...]
    resets_above_fleet: tuple[ResetsAbove, ...]
    common_causes: tuple[CommonCause, ...]
    judged: int
    too_few: int
    expected_false: float
    priors: Mapping[str, Prior]
    rates: Mapping[str, tuple[int, int]]
    drift: Judged
    answers: Mapping[str, Discoveries]


def screen(fleet: Fleet, budget: float = BUDGET, shares: Mapping[str, float] = SHARES) -> Screen:
    """Screen the fleet; `budget` is the share of false flags borne (0.1 = one in ten)."""
    priors, drift = _judge_drifts(fleet)
    moving = discoveries(drift.p, budget * shares[TRENDING])
    rates, others, p = _judge_resets(fleet)
    often = discoveries(p, budget * shares[RESETS_ABOVE_FLEET])
    together = common_causes(fleet.outcomes, budget * shares[COMMON_CAUSE])
    answers = {TRENDING: moving, RESETS_ABOVE_FLEET: often, COMMON_CAUSE: together.answer}
    return Screen(
        budget,
        tuple(_trending(fleet, i, drift, moving, priors) for i in _flagged(moving, drift.p)),
        tuple(_above(fleet, i, others, p, often) for i in _flagged(often, p)),
        together.found,
        judged=moving.judged,
        too_few=len(fleet.keys) - moving.judged,
        expected_false=sum(answer.expected_false for answer in answers.values()),
        priors=priors,
        rates=rates,
        drift=drift,
        answers=answers,
    )


def prior_of(drifts: Drifts) -> Prior:
    """The prior of one family, worth no more than so many series can vouch for."""
    prior = fit_prior(drifts.variance, drifts.df, drifts.at_floor)
    vouched = WORTH_OF_A_SERIES * int(drifts.is_enough.sum())
    return replace(prior, df=min(prior.df, vouched))


def _judge_drifts(fleet: Fleet) -> tuple[dict[str, Prior], Judged]:
    drifts = fleet.drifts
    found = Judged(*(np.full(len(fleet.keys), np.nan) for _ in range(4)))
    priors = {}
    for family, at in _by(fleet.families):
        own = drifts.of(at)
        priors[family] = prior = prior_of(own)
        judged = judge(own.per_year, own.variance, own.df, own.spread, prior)
        for name in ("t", "df", "p", "variance"):
            getattr(found, name)[at] = getattr(judged, name)
    return priors, found


def _judge_resets(
    fleet: Fleet,
) -> tuple[dict[str, tuple[int, int]], NDArray[np.float64], NDArray[np.float64]]:
    """The rate of each pool, and of each series that of the others in its pool and its tail."""
    rates, others, p = {}, np.full(len(fleet.keys), np.nan), np.full(len(fleet.keys), np.nan)
    for pool, at in _by(fleet.pools):
        k, n = fleet.resets[at], fleet.reset_of[at]
        rates[pool] = whole = int(k.sum()), int(n.sum())
        others[at] = rate_of_others(k, n, *whole)
        p[at] = np.where(n >= ENOUGH_OVERHAULS, tail_against_others(k, n, *whole), np.nan)
    return rates, others, p


def _by(names: Sequence[str]) -> Iterable[tuple[str, NDArray[np.int64]]]:
    """The places of each name."""
    distinct, which = np.unique(np.asarray(names, dtype=object).astype(str), return_inverse=True)
    for number, name in enumerate(distinct):
        yield str(name), np.flatnonzero(which == number)


def _flagged(answer: Discoveries, p: NDArray[np.float64]) -> list[int]:
    at = np.flatnonzero(answer.flagged)
    return [int(i) for i in at[np.argsort(p[at], kind="stable")]]


def _trending(
    fleet: Fleet, i: int, drift: Judged, answer: Discoveries, priors: Mapping[str, Prior]
) -> Trending:
    return Trending(
        fleet.keys[i],
        float(fleet.drifts.per_year[i]),
        int(fleet.drifts.n[i]),
        t=float(drift.t[i]),
        df=float(drift.df[i]),
        p=float(drift.p[i]),
        q=float(answer.q[i]),
        variance=float(drift.variance[i]),
        prior=priors[fleet.families[i]],
    )


def _above(
    fleet: Fleet,
    i: int,
    others: NDArray[np.float64],
    p: NDArray[np.float64],
    answer: Discoveries,
) -> ResetsAbove:
    return ResetsAbove(
        fleet.keys[i],
        int(fleet.resets[i]),
        int(fleet.reset_of[i]),
        rate=float(others[i]),
        p=float(p[i]),
        q=float(answer.q[i]),
    )
