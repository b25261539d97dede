"""The screen by hand: budgets and shares, families apart, refusals, and what it answers with."""

from datetime import date

import numpy as np
import pytest

from inspections.calc.common_cause import Outcome
from inspections.calc.moderated import Prior, fit_prior, judge
from inspections.calc.screening import (
    COMMON_CAUSE,
    RESETS_ABOVE_FLEET,
    SHARES,
    TRENDING,
    Fleet,
    prior_of,
    screen,
)
from inspections.calc.service_drift import drifts
from tests.inspections.calc.fleets import Made, fleet

DAY = date(2024, 4, 1)


def test_the_shares_add_up_to_the_budget():
    assert sum(SHARES.values()) == pytest.approx(1)
    assert set(SHARES) == {TRENDING, RESETS_ABOVE_FLEET, COMMON_CAUSE}


def mixed():
    """A mover, a device reset every time, six of one bench failing together; the rest as usual."""
    found = Made(devices=400, movers=1, shift=6.0).drifts()
    k, n = np.full(400, 1), np.full(400, 10)
    k[7] = 10
    outcomes = [
        Outcome(i, "set_pressure", DAY, int(i < 6), bench="B1" if i < 6 else "B2")
        for i in range(200)
    ]
    return fleet(found, k, n, outcomes)


def test_each_question_is_answered_with_its_numbers():
    seen = screen(mixed())
    mover, often, together = seen.trending[0], seen.resets_above_fleet[0], seen.common_causes[0]
    assert (mover.key, mover.n) == (0, 7)
    assert mover.per_year == pytest.approx(6, abs=1)
    assert mover.p < mover.q < 0.01
    assert mover.prior == seen.priors["lower_ring notches"]
    assert (often.key, often.resets, often.reset_of) == (7, 10, 10)
    assert often.rate == pytest.approx((399 + 1) / (3990 + 1))
    assert seen.rates == {"lower_ring": (409, 4000)}
    assert together.keys == (0, 1, 2, 3, 4, 5)


def test_the_false_flags_expected_are_the_shares_of_what_is_flagged():
    seen = screen(mixed(), budget=0.2)
    trending, often, together = (
        len(found) for found in (seen.trending, seen.resets_above_fleet, seen.common_causes)
    )
    expected = 0.2 * (0.6 * trending + 0.2 * often + 0.2 * together)
    assert seen.expected_false == pytest.approx(expected)


def test_families_are_not_pooled():
    """The same ten changes in notches and in percent: each is judged by its own."""
    m = np.random.default_rng(6).normal(size=(60, 6))
    m[30:] *= 50
    found = drifts(np.repeat(np.arange(60), 6), m.ravel(), np.ones(360), count=60)
    families = ["ring"] * 30 + ["pop"] * 30
    none = np.zeros(60, int)
    seen = screen(Fleet(range(60), families, found, families, none, none))
    assert seen.priors["pop"].variance > 500 * seen.priors["ring"].variance
    for family, at in (("ring", slice(0, 30)), ("pop", slice(30, 60))):
        own = judge(
            found.per_year[at], found.variance[at], 5, found.spread[at], seen.priors[family]
        )
        assert seen.drift.p[at] == pytest.approx(own.p)


def test_a_family_of_few_hardly_vouches_for_a_variance():
    """A tenth of a degree of freedom each; what limma itself fits is then too sure."""
    few = Made(devices=20).drifts()
    assert prior_of(few).df == pytest.approx(min(2, fit_prior(few.variance, few.df).df))
    many = Made(devices=20_000, alike=4.0).drifts()
    assert prior_of(many).df == fit_prior(many.variance, many.df).df


def test_series_with_too_few_changes_vouch_for_nothing():
    """Twenty that can be judged among a thousand that cannot are still twenty."""
    rng = np.random.default_rng(8)
    of = np.concatenate([np.repeat(np.arange(20), 4), np.repeat(np.arange(20, 1020), 2)])
    found = drifts(of, rng.normal(size=len(of)), np.ones(len(of)), count=1020)
    assert prior_of(found).df <= 2


def test_not_enough_readings_are_counted_and_never_flagged():
    found = drifts([0, 0, 1, 1, 1], [9.0, 9.0, 0.1, -0.1, 0.1], [1.0] * 5, count=3)
    seen = screen(fleet(found, np.array([2, 0, 0]), np.array([2, 2, 0])))
    assert (seen.judged, seen.too_few) == (1, 2)
    assert np.isnan(seen.drift.p[[0, 2]]).all()
    assert seen.resets_above_fleet == () and seen.answers[RESETS_ABOVE_FLEET].judged == 0


def test_an_empty_fleet():
    seen = screen(fleet(drifts([], [], [], count=0)))
    assert (seen.judged, seen.too_few, seen.expected_false) == (0, 0, 0)
    assert seen.priors == {} and seen.rates == {}


def test_a_family_alone_says_nothing_of_itself():
    found = drifts([0, 0, 0], [1.0, 1.1, 0.9], [1.0] * 3, count=1)
    seen = screen(fleet(found))
    assert seen.priors["lower_ring notches"] == Prior(0, pytest.approx(0.01), 2)
    assert seen.drift.df[0] == 2  # a plain t
