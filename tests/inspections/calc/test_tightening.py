"""The order of tightening: opposed pairs, each far across from the one before.

The orders of 4, 8, 16 and 20 nuts are those of the crosswise pattern commonly printed for flanged
joints (common practice, from memory). No order is printed for odd numbers: those are held to the
rule alone.
"""

from itertools import pairwise

import pytest

from inspections.calc.tightening import FEWEST, MOST, apart, tightening

EVERY = range(FEWEST, MOST + 1)
EVEN = [n for n in EVERY if n % 2 == 0]
ODD = [n for n in EVERY if n % 2]


@pytest.mark.parametrize(
    ("nuts", "order"),
    [
        (4, (1, 3, 2, 4)),
        (8, (1, 5, 3, 7, 2, 6, 4, 8)),
        (16, (1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16)),
        (20, (1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19)),
    ],
)
def test_the_order_is_the_usual_one(nuts, order):
    assert tightening(nuts) == order


@pytest.mark.parametrize("nuts", EVERY)
def test_every_nut_is_tightened_once(nuts):
    assert sorted(tightening(nuts)) == list(range(1, nuts + 1))


@pytest.mark.parametrize("nuts", EVEN)
def test_an_even_number_goes_in_opposed_pairs(nuts):
    order = tightening(nuts)
    for one, other in zip(order[::2], order[1::2], strict=True):
        assert apart(one, other, nuts) == nuts // 2


@pytest.mark.parametrize("nuts", ODD)
def test_an_odd_number_goes_next_to_opposite_every_time(nuts):
    order = tightening(nuts)
    for one, other in pairwise(order):
        assert apart(one, other, nuts) == (nuts - 1) // 2


@pytest.mark.parametrize("nuts", [n for n in EVERY if n > 4])
def test_no_nut_follows_its_neighbour(nuts):
    order = tightening(nuts)
    assert all(apart(a, b, nuts) > 1 for a, b in pairwise(order))


@pytest.mark.parametrize("nuts", [n for n in EVEN if n >= 8])
def test_each_half_of_the_circle_is_loaded_early(nuts):
    """The first two pairs stand about a quarter turn from each other."""
    first, _, third, _ = tightening(nuts)[:4]
    assert abs(apart(first, third, nuts) - nuts / 4) <= 1


@pytest.mark.parametrize("nuts", [-1, 0, 2, 33])
def test_other_numbers_are_refused(nuts):
    with pytest.raises(ValueError, match="3 to 32"):
        tightening(nuts)
