"""Trend arithmetic against published examples, other libraries and plain enumeration."""

from datetime import date
from fractions import Fraction
from itertools import permutations

import pytest

from inspections.calc import drift

# EPA 2009, Statistical Analysis of Groundwater Monitoring Data, Unified Guidance, example 17-6:
# sampling dates in decimal years and concentrations in ppm.
EPA_TIMES = (
    "89.6 89.8 90.1 90.3 90.6 90.8 91.1 91.3 91.6 91.8 92.1 92.6 93.1 93.6 94.1 94.6 95.1 95.6"
    " 95.8 96.1 96.3 96.6 96.8"
)
EPA_PPM = (
    "480 450 490 520 485 510 510 530 510 560 560 540 590 550 600 700 570 610 650 620 830 720 590"
)

# Answers of two other libraries on random series: (days, values), S, variance, z and p from
# pymannkendall 1.4.3 original_test, slope per day from scipy 1.17.1 theilslopes(method="separate"),
# exact two-sided p from scipy kendalltau(method="exact") where no values tie.
OTHER_LIBRARIES = [
    ([617, 1326, 1617, 2666], [-34, -31, 28, -28],
     4, 26 / 3, 1.019049, 0.3081795474670539, 0.0035797846966527415, 0.3333333333333333),
    ([237, 879, 1497, 2078, 2387], [-36, -29, 15, 13, -32],
     2, 50 / 3, 0.244949, 0.80649594050734, 0.006381945953778164, 0.8166666666666667),
    ([190, 203, 905, 1624, 2280, 2398, 3516], [-23, -3, 13, -22, 29, -25, 33],
     7, 133 / 3, 0.901127, 0.36752073824214304, 0.010866284334440085, 0.3813492063492063),
    ([422, 740, 1263, 2294, 2339, 2382, 2793, 3342], [-16, 7, -28, 30, -32, 32, -33, -14],
     -2, 196 / 3, -0.123718, 0.9015386266571279, -0.002735308514007659, 0.9048611111111111),
    ([241, 330, 529, 893, 1014, 1177, 1601, 1629, 2033, 3024, 3146, 3569],
     [-19, 17, 11, 30, -5, -23, 15, 36, 35, 13, 5, 8],
     4, 638 / 3, 0.205718, 0.837011475105446, 0.004058654097931396, 0.8405883696421891),
    ([1406, 1838, 2027, 2987, 3584], [-1, 1, -3, -3, 2],
     1, 47 / 3, 0.0, 1.0, 0.000286368843069874, None),
    ([622, 675, 1401, 1712, 1727, 2002, 3101], [-3, 2, -3, 3, 2, 2, 4],
     11, 119 / 3, 1.587768, 0.11233872582982296, 0.001455604075691412, None),
    ([16, 49, 339, 596, 618, 619, 721, 746, 945, 950, 955, 1076, 1154, 1512, 1716, 1986, 2189,
      2413, 2697, 3404],
     [1, 1, -1, -2, 3, 4, 2, 2, 4, 4, 4, -1, 3, 6, 6, 6, 6, 7, 5, 4],
     104, 2762 / 3, 3.39458, 0.0006873402054314859, 0.002170374389582203, None),
]  # fmt: skip


def points(times, values):
    return [(Fraction(t), Fraction(v)) for t, v in zip(times, values, strict=True)]


def test_epa_unified_guidance_example_17_6():
    series = points(EPA_TIMES.split(), EPA_PPM.split())
    test = drift.mann_kendall(series)
    assert (test.n, test.s, test.variance) == (23, 194, 1428)
    assert test.z == pytest.approx(5.107322, abs=5e-7)
    assert test.normal_p == pytest.approx(3.267574e-07, rel=5e-7)
    assert drift.theil_sen(series) == Fraction(80, 3)  # printed 26.66667 a year


@pytest.mark.parametrize(
    ("n", "s", "printed"),
    # Upper-tail probabilities of the exact test without ties: Gilbert 1987, table A18.
    [(4, 6, ".0417"), (5, 8, ".0417"), (5, 10, ".0083"), (6, 11, ".0278"), (8, 16, ".0305")],
)
def test_exact_upper_tail_as_printed_in_tables(n, s, printed):
    assert f"{float(drift.upper_tail(s, [1] * n)):.4f}"[1:] == printed


@pytest.mark.parametrize(
    ("days", "values", "s", "variance", "z", "p", "slope", "exact"), OTHER_LIBRARIES
)
def test_other_libraries_agree(days, values, s, variance, z, p, slope, exact):
    series = points(days, values)
    test = drift.mann_kendall(series)
    assert test.s == s
    assert float(test.variance) == pytest.approx(variance)
    assert test.z == pytest.approx(z, abs=1e-6)
    assert test.normal_p == pytest.approx(p)
    assert float(drift.theil_sen(series)) == pytest.approx(slope)
    if exact is not None:
        assert float(test.exact_p) == pytest.approx(exact)


@pytest.mark.parametrize(
    ("times", "values"),
    [
        ([1, 2, 3, 4, 5], [1, 2, 3, 4, 5]),
        ([1, 2, 3, 4, 5, 6], [2, 2, 3, 1, 3, 3]),
        ([1, 1, 3, 4, 4, 4], [1, 2, 2, 0, 5, 5]),
    ],
)
def test_probabilities_and_variance_equal_full_enumeration(times, values):
    """Every order of the values tried by hand: the plainest oracle there is."""
    own = drift.mann_kendall(points(times, values))
    every_s = [drift.mann_kendall(points(times, order)).s for order in permutations(values)]
    assert own.variance == Fraction(sum(s * s for s in every_s), len(every_s))
    if own.exact_p is not None:
        assert own.upper_p == Fraction(sum(s >= own.s for s in every_s), len(every_s))
        assert own.exact_p == Fraction(sum(abs(s) >= abs(own.s) for s in every_s), len(every_s))


def test_order_of_readings_does_not_matter():
    series = points([1, 2, 3, 4, 5], [5, 1, 4, 2, 2])
    assert drift.mann_kendall(series[::-1]) == drift.mann_kendall(series)
    assert drift.theil_sen(series[::-1]) == drift.theil_sen(series)


def test_slope_is_per_year_of_365_and_a_quarter_days():
    # 1461 days are four such years, so two notches in them are half a notch a year.
    start, end = date(2017, 3, 1), date(2021, 3, 1)
    assert drift.theil_sen([(drift.years(start), 3), (drift.years(end), 5)]) == Fraction(1, 2)


def test_dates_count_not_visits():
    """The same values at other dates have the same S and another slope."""
    values = [Fraction(v) for v in (0, -1, -2, -3)]
    even = [date(2010 + 3 * i, 1, 1) for i in range(4)]
    late = [date(2010, 1, 1), date(2018, 1, 1), date(2018, 7, 1), date(2019, 1, 1)]
    regular = drift.trend(list(zip(even, values, strict=True)))
    crowded = drift.trend(list(zip(late, values, strict=True)))
    assert regular.test == crowded.test
    assert crowded.per_year < regular.per_year < 0


def test_too_few_readings_give_no_number():
    for n in range(4):
        day_values = [(date(2010 + i, 1, 1), Fraction(i)) for i in range(n)]
        assert drift.trend(day_values) is None


def test_all_readings_on_one_day_have_no_trend():
    assert drift.trend([(date(2020, 1, 1), Fraction(i)) for i in range(5)]) is None


def test_two_readings_on_one_day_fall_back_to_the_normal_approximation():
    days = [date(2020, 1, 1), date(2020, 1, 1), date(2021, 1, 1), date(2022, 1, 1)]
    test = drift.trend(list(zip(days, map(Fraction, (1, 2, 3, 4)), strict=True))).test
    assert (test.s, test.exact_p) == (5, None)
    assert test.p == test.normal_p


def test_readings_that_never_change_have_no_trend_at_all():
    found = drift.trend([(date(2010 + i, 1, 1), Fraction(7)) for i in range(6)])
    assert (found.per_year, found.test.s, found.test.z, found.test.p) == (0, 0, 0.0, 1.0)
