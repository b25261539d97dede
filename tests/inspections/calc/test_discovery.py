"""Benjamini-Hochberg against its own paper, another library and the definition."""

import numpy as np
import pytest
from scipy.stats import false_discovery_control

from inspections.calc.discovery import discoveries, q_values

# Benjamini and Hochberg 1995, section 3.2: 15 comparisons of two treatments of myocardial
# infarction (from memory). At 0.05 their procedure rejects the four smallest, Bonferroni three.
BH_1995 = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0),
]


def test_the_example_of_the_paper():
    found = discoveries(BH_1995, 0.05)
    assert found.flagged.tolist() == [True] * 4 + [False] * 11
    assert (found.judged, found.expected_false) == (15, pytest.approx(0.2))


def test_scipy_agrees():
    p = np.random.default_rng(3).uniform(size=500) ** 2
    assert q_values(p) == pytest.approx(false_discovery_control(p, method="bh"))


def test_q_by_hand():
    """4 p-values: .01*4/1, .02*4/2, .03*4/3 all .04; .8*4/4."""
    assert q_values([0.03, 0.8, 0.01, 0.02]) == pytest.approx([0.04, 0.8, 0.04, 0.04])


def test_what_is_not_judged_is_neither_counted_nor_flagged():
    q = q_values([np.nan, 0.02, np.nan, 0.04])
    assert np.isnan(q[[0, 2]]).all()
    assert q[[1, 3]] == pytest.approx([0.04, 0.04])
    found = discoveries([np.nan, np.nan], 0.1)
    assert (found.flagged.any(), found.judged, found.expected_false) == (False, 0, 0)


def test_nothing_at_all():
    assert q_values([]).tolist() == []
