"""The first pop to come: Student's predictive interval by hand and by simulation, and refusals."""

from datetime import date
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from inspections.calc.moderated import Prior
from inspections.calc.movements import series
from inspections.calc.projection import NoProjection, Projection, project, since_cut
from inspections.calc.service_drift import drifts
from tests.inspections.calc.histories import pop, pops, rings, visit

ALONE = Prior(0, 0)
DUE = date(2021, 3, 1)
# Five visits a year apart from 2015: found 1, 2 and 1.5 psig low of 100, left at 100.
FALLING = [("100", "100"), ("99", "100"), ("98", "100"), ("98.5", "100"), ("98.5", "100")]


def projected(visits, on=DUE, prior=ALONE):
    return project(series("set_pressure", visits), on, prior)


def test_by_hand():
    """Changes -1, -2, -1.5, -1.5 % over about a year each; two years from the last as-left at 0."""
    found = projected(pops(*FALLING))
    assert isinstance(found, Projection)
    assert found.n == 4
    assert found.expected == pytest.approx(-3, abs=0.01)
    scatter = ((0.5**2 + 0.5**2) / 3 * (1 + 2**2 / 4)) ** 0.5
    assert found.scatter == pytest.approx(scatter, rel=0.01)
    assert found.df == 3
    assert found.band == (-3, 3)
    assert found.early_chance == pytest.approx(0.5, abs=0.01)  # expected on the very edge
    late = stats.t.sf(6 / scatter, 3)
    assert found.late_chance == pytest.approx(late, rel=0.05)
    assert found.chance_out == found.early_chance + found.late_chance
    assert found.high - found.expected == pytest.approx(stats.t.ppf(0.95, 3) * found.scatter)
    assert len(found.assumptions) == 5


def test_the_family_steadies_it():
    """The prior's variance and degrees of freedom go in: (3 * .1667 + 6 * 1) / 9."""
    found = projected(pops(*FALLING), prior=Prior(6, 1))
    assert found.df == 9
    assert found.scatter == pytest.approx(((0.5 + 6) / 9 * 2) ** 0.5, rel=0.01)


def test_the_interval_holds_nine_in_ten():
    """20,000 devices of one true drift and scatter: the pop to come lies where it was said."""
    rng = np.random.default_rng(9)
    m = 0.4 + rng.normal(size=(20_000, 5))
    found = drifts(np.repeat(np.arange(20_000), 5), m.ravel(), np.ones(100_000), count=20_000)
    scatter = np.sqrt(found.variance * (1 + 2**2 * found.spread))
    away = np.abs(0.8 + rng.normal(size=20_000) - 2 * found.per_year)
    assert np.mean(away < stats.t.ppf(0.95, 4) * scatter) == pytest.approx(0.9, abs=0.01)


def refused(visits, on=DUE):
    found = projected(visits, on)
    assert isinstance(found, NoProjection)
    return found.reason


def test_too_few_readings():
    assert refused(pops(*FALLING[:3])) == "not enough readings: 2 changes in service, 3 are needed"


def test_a_pop_that_never_came():
    visits = pops(*FALLING)
    visits[2] = visit(2017, pop("110", no_lift=True), pop("100"), method="bench")
    assert (
        refused(visits)
        == "it did not lift on 2017-03-01 (R-2017): how far it had moved is not known"
    )


def test_a_new_spring_since():
    visits = pops(*FALLING)
    visits[4] = visit(2019, pop("98.5"), pop("100"), method="bench", renewed="new spring")
    assert refused(visits).startswith("new spring on 2019-03-01 (R-2019)")
    visits = pops(*FALLING)
    visits[2] = visit(2017, None, pop("100"), method="bench", renewed="new spring")
    assert "2 changes" in refused(visits)  # the reset is cut for what is missing, and yet


def test_another_method_since():
    visits = pops(*FALLING)
    visits[3] = visit(2018, pop("98.5"), pop("100"), method="in_place_assist")
    assert "0 changes" in refused(visits)


def test_no_as_left_no_lift_no_band_no_future():
    visits = pops(*FALLING)
    assert "is not after" in refused(visits, visits[-1].on)
    visits[4] = visit(2019, pop("98.5"), None, method="bench")
    assert refused(visits) == "the last visit left no pop on record"
    visits[4] = visit(2019, pop("98.5"), pop("110", no_lift=True), method="bench")
    assert refused(visits).startswith("it did not lift when it was left")
    assert refused([]) == "the last visit left no pop on record"


def test_all_changes_alike_and_nothing_known_of_them():
    """No scatter at all is no certainty; what two rounded readings can differ by is a scatter."""
    visits = [
        visit(year, pop("100"), pop("100"), method="bench") for year in (2015, 2016, 2017, 2018)
    ]
    assert refused(visits).startswith("every change was alike")
    coarse = project(series("set_pressure", visits), DUE, ALONE, Fraction(1))
    assert 0 < coarse.chance_out < 0.1  # three changes known to one psi in a hundred


def test_a_ring_has_no_band():
    with pytest.raises(ValueError, match="lower_ring"):
        project(series("lower_ring", rings(("1 notches", "1 notches"))), DUE, ALONE)


def test_only_steps_in_service_since_the_cut():
    steps = since_cut(series("set_pressure", pops(*FALLING)))
    assert [step.kind for step in steps] == ["service_movement"] * 4


@pytest.mark.parametrize(("resolution", "is_given"), [("5.9", True), ("6", False), ("10", False)])
def test_pops_read_more_coarsely_than_the_band_tell_nothing(resolution, is_given):
    """The band is +/- 3 percent, so six wide."""
    found = project(series("set_pressure", pops(*FALLING)), DUE, ALONE, Fraction(resolution))
    assert isinstance(found, Projection) is is_given
    if not is_given:
        assert "the band is 6 % wide" in found.reason
