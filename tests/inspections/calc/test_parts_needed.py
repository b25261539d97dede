"""Parts likely needed: counted, with an interval that holds what it says.

Checked against the definition by brute force over binomials, and against hypergeometric
probabilities counted out in whole numbers, without the library that the product uses.
"""

from fractions import Fraction
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc.parts_needed import FEWEST, parts_needed, prediction_interval


def tails(x, k, n, m):
    """P(X <= x) and P(X >= x) of the hypergeometric X: k + x marked of n + m, m drawn."""
    marked = k + x
    ways = [comb(marked, i) * comb(n + m - marked, m - i) for i in range(m + 1)]
    every = comb(n + m, m)
    return Fraction(sum(ways[: x + 1]), every), Fraction(sum(ways[x:]), every)


@given(st.integers(1, 25), st.integers(1, 12), st.data())
def test_it_takes_exactly_what_neither_tail_refuses(n, m, data):
    k = data.draw(st.integers(0, n))
    tail = Fraction(1, 20)
    kept = [x for x in range(m + 1) if min(tails(x, k, n, m)) > tail]
    assert kept == list(range(kept[0], kept[-1] + 1))  # no holes
    assert prediction_interval(k, n, m, 0.9) == (kept[0], kept[-1])


@pytest.mark.parametrize(("n", "m"), [(5, 1), (5, 5), (19, 5), (12, 8), (30, 3)])
@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
def test_it_holds_the_number_to_come_as_often_as_it_says_whatever_the_rate(n, m, confidence):
    """The binomial probabilities of past and future, multiplied out: the definition itself."""

    def chance(count, size, rate):
        return comb(size, count) * rate**count * (1 - rate) ** (size - count)

    ends = [prediction_interval(k, n, m, confidence) for k in range(n + 1)]
    for step in range(1, 100):
        rate = step / 100
        held = sum(
            chance(k, n, rate) * sum(chance(x, m, rate) for x in range(low, high + 1))
            for k, (low, high) in enumerate(ends)
        )
        assert held >= confidence


def test_none_of_five_says_little_and_all_of_five_the_same_the_other_way():
    """By hand: after 0 of 5, P(X >= x) of 5 to come is C(5, x) / C(10, x): 1/12 for 3, 1/42 for
    4. After 5 of 5 it is the mirror image."""
    assert [tails(x, 0, 5, 5)[1] for x in (3, 4)] == [Fraction(1, 12), Fraction(1, 42)]
    assert prediction_interval(0, 5, 5, 0.9) == (0, 3)
    assert prediction_interval(5, 5, 5, 0.9) == (2, 5)


def test_with_very_many_to_come_it_is_the_interval_of_the_rate():
    """Clopper and Pearson (1934): 0 of 10 at 95 % two-sided gives 0 to 1 - 0.025 ** 0.1 = 0.3085,
    5 of 10 gives 0.1871 to 0.8129 (published tables)."""
    m = 3_000
    low, high = prediction_interval(0, 10, m, 0.95)
    assert low == 0 and high / m == pytest.approx(1 - 0.025**0.1, abs=1e-3)
    low, high = prediction_interval(5, 10, m, 0.95)
    assert (low / m, high / m) == pytest.approx((0.1871, 0.8129), abs=1e-3)


def test_the_words_say_what_was_counted_and_what_to_expect():
    past = [{"disc insert"}] * 7 + [set()] * 12
    [need] = parts_needed(past, 5)
    words = "disc insert: renewed at 7 of 19 overhauls of this model: of 5 jobs expect 2 (0 to 4)"
    assert need.words == words
    assert need.expected == Fraction(35, 19)


def test_fewer_than_five_overhauls_say_nothing():
    assert FEWEST == 5
    assert parts_needed([{"disc"}] * 4, 3) is None
    assert parts_needed([], 3) is None
    assert parts_needed([{"disc"}] * 5, 3) is not None


def test_no_job_needs_no_part_and_what_was_never_renewed_is_not_listed():
    assert parts_needed([{"disc"}] * 9, 0) is None
    assert parts_needed([set()] * 9, 4) == []


def test_a_part_is_one_however_it_is_written_and_counts_once_an_overhaul():
    past = [{"Disc"}, {"disc "}, {"disc", "DISC"}, {"spring"}, set()]
    found = {need.part.casefold(): need.renewed for need in parts_needed(past, 2)}
    assert found == {"disc": 3, "spring": 1}


def test_halves_are_fetched_whole():
    [need] = parts_needed([{"disc"}] * 5 + [set()] * 5, 3)
    assert need.expected == Fraction(3, 2) and need.about == 2


@pytest.mark.parametrize("asked", [(-1, 5, 1, 0.9), (6, 5, 1, 0.9), (0, 0, 1, 0.9), (0, 5, 0, 0.9),
                                   (0, 5, 1, 1.0)])  # fmt: skip
def test_what_cannot_be_is_refused(asked):
    with pytest.raises(ValueError, match="no interval"):
        prediction_interval(*asked)
