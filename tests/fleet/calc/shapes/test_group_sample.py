"""What a group-sampling rule says of one member alone, and how large a share is."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import EXPANSION, GAP, SAMPLE, WHOLE_GROUP, Due, shape_from
from tests.fleet.calc.shapes.given import DAYS, day, days, plus

# ASME OM App. I, class 1: a fifth in any 24 months, each within 5 years, two more after a failure
# outside the greater of the owner's tolerance and 3 %
CLASS_1 = shape_from(
    "group_sample",
    {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"},
)


@pytest.mark.parametrize(
    ("members", "needed"),
    [(5, 1), (6, 2), (16, 4), (1, 1), (10, 2), (11, 3), (0, 0)],  # ASME OM App. I: 20 %, rounded up
)
def test_a_fifth_of_the_group_rounded_up(members, needed):
    assert CLASS_1.needed(members) == needed


@given(members=st.integers(0, 1000), millionths=st.integers(1, 1_000_000))
def test_a_share_is_exact(members, millionths):
    text = "1" if millionths == 1_000_000 else f"0.{millionths:06}"
    shape = shape_from("group_sample", CLASS_1.parameters() | {"fraction": text})
    needed = shape.needed(members)
    assert needed == math.ceil(Fraction(millionths * members, 1_000_000))


def test_a_share_that_a_binary_fraction_would_overshoot():
    shape = shape_from("group_sample", CLASS_1.parameters() | {"fraction": "0.07"})
    assert shape.needed(100) == 7 != math.ceil(0.07 * 100)


def test_a_member_alone_owes_its_own_gap():
    assert CLASS_1.due(days("2020-02-29")) == Due(day("2025-02-28"), None, GAP)
    assert CLASS_1.with_interval(parse_duration("P1Y")).due(days("2020-02-29")).due_on == day(
        "2021-02-28"
    )


@given(last=DAYS)
def test_a_member_is_never_later_than_its_gap(last):
    assert CLASS_1.due([last]).due_on == plus(last, CLASS_1.gap)


def test_the_band_is_exact():
    assert CLASS_1.band == Fraction(3)
    assert shape_from("group_sample", CLASS_1.parameters() | {"band": "2.5 %"}).band == Fraction(
        5, 2
    )


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (GAP, "5 years after 2020-01-01 (OM)"),
        (
            SAMPLE,
            "at least 20 % of its group in any 24 months, and it is among those longest untested,"
            " last done 2020-01-01 (OM)",
        ),
        (
            EXPANSION,
            "a test in its group failed, which calls in 2 more of those longest untested,"
            " last done 2020-01-01 (OM)",
        ),
        (
            WHOLE_GROUP,
            "a test called in by a failure failed too, which calls in the whole group,"
            " last done 2020-01-01 (OM)",
        ),
    ],
)
def test_the_reason_says_what_the_group_adds(limit, words):
    assert CLASS_1.reason(Due(day("2022-01-01"), None, limit), day("2020-01-01"), "OM") == words


def test_the_rule_in_words():
    assert CLASS_1.words() == (
        "at least 20 % of the group in any 24 months, each no more than 5 years apart; 2 more after"
        " a failure outside the owner's tolerance and 3 %, all after a failure among those"
    )
