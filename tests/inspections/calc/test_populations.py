"""First pops as populations, by published as-found figures.

US plant event reports as they were published (public): LER 388/2009-001, seven valves all low, five
of them here; LER 247/2016-001, first pop 5.63 % high; NRC IN 96-03, > +6.1, +4.3, > +5.9 percent,
of which two are bounds. Intervals: Clopper and Pearson, checked in test_chance.py.
"""

import random
from collections import Counter
from fractions import Fraction
from statistics import quantiles

import pytest

from inspections.calc.populations import FirstPop, compared, populations, span_of

LER_388 = ["-4.43", "-3.32", "-3.35", "-5.64", "-3.43"]
IN_96_03 = [("6.1", True), ("4.3", False), ("5.9", True)]


def low(percent):
    return FirstPop(Fraction(percent), False, "low")


def sound(percent="0.5"):
    return FirstPop(Fraction(percent), False, "in")


def stuck(percent):
    return FirstPop(Fraction(percent), True, "stuck")


def test_valves_that_fail_together_stand_first_with_their_interval():
    rows = [("a", "Sound model", sound()) for _ in range(5)]
    rows += [("b", "Low model", low(percent)) for percent in LER_388]
    first, second = populations(rows)
    assert (first.name, first.failed, first.judged, first.count("low")) == ("Low model", 5, 5, 5)
    # 5 of 5: the lower limit is (0.025)^(1/5) = 0.4782, by the definition of the interval
    assert first.share.low == pytest.approx(0.025 ** (1 / 5))
    assert second.share.rate == 0.0


def test_the_median_is_of_exact_pops_alone_and_bounds_are_kept_as_bounds():
    rows = [("m", "M", stuck(p) if bound else FirstPop(Fraction(p), False, "high"))
            for p, bound in IN_96_03]  # fmt: skip
    [group] = populations(rows)
    assert group.quartiles is None  # one exact pop gives no median
    assert group.bounds == [Fraction("5.9"), Fraction("6.1")]
    assert (group.count("stuck"), group.count("high"), group.failed) == (2, 1, 3)


def test_quartiles_are_inclusive_ones_of_what_opened():
    [group] = populations([("m", "M", low(percent)) for percent in LER_388])
    assert group.quartiles == (Fraction("-4.43"), Fraction("-3.43"), Fraction("-3.35"))


def test_a_group_too_small_to_say_anything_stands_behind():
    rows = [("one", "One", low("-9"))] + [("many", "Many", sound()) for _ in range(9)]
    assert [group.name for group in populations(rows)] == ["Many", "One"]


def test_what_was_not_judged_fails_nothing():
    [group] = populations([("m", "M", FirstPop(Fraction(9), False, ""))])
    assert (group.n, group.judged, group.share) == (1, 0, None)


def test_two_groups_are_held_against_each_other_exactly():
    """Fisher's tea tasting, 3 of 4 against 1 of 4: two-sided p 34/70 (The Design of Experiments,
    1935)."""
    rows = [("a", "A", low("-5"))] * 3 + [("a", "A", sound())]
    rows += [("b", "B", low("-5"))] + [("b", "B", sound())] * 3
    groups = {group.key: group for group in populations(rows)}
    said = compared(groups["a"], groups["b"])
    assert said.p == pytest.approx(34 / 70)
    [empty] = populations([("c", "C", FirstPop(None, False, ""))])
    assert compared(groups["a"], empty) is None


def test_one_scale_holds_all_of_them_within_reason():
    groups = populations([("m", "M", low("-5.64"))])
    assert span_of(groups) == Fraction("5.64")
    assert span_of(populations([("m", "M", stuck("90"))])) == 5
    assert span_of(populations([("m", "M", low("-90"))])) == 50
    assert span_of([]) == 5


def test_alike_pops_counted_together_say_what_each_apart_would():
    """Quartiles by the standard library's `statistics.quantiles(method="inclusive")`."""
    dice = random.Random(5)
    for size in (3, 4, 5, 6, 7, 50, 201):
        apart = [Fraction(dice.randint(-60, 60), 10) for _ in range(size)]
        verdicts = ["low" if value < -3 else "high" if value > 3 else "in" for value in apart]
        pops = list(zip(apart, verdicts, strict=True))
        one_by_one = [("m", "M", FirstPop(value, False, said)) for value, said in pops]
        together = [("m", "M", FirstPop(*key[:1], False, key[1], many))
                    for key, many in Counter(pops).items()]  # fmt: skip
        [single], [counted] = populations(one_by_one), populations(together)
        assert counted.quartiles == single.quartiles
        assert counted.quartiles == tuple(quantiles(apart, n=4, method="inclusive"))
        assert (counted.n, counted.judged, counted.failed) == (
            single.n,
            single.judged,
            single.failed,
        )
        assert counted.count("low") == single.count("low") == verdicts.count("low")
