"""What a failure in a sampled group calls in, followed test by test.

Two more after a failure and then the whole group are those of ASME OM Appendix I, I-1320; the rest
of the scenarios is made up here.
"""

from dataclasses import replace
from fractions import Fraction

import pytest

from fleet.calc.duedates import Found, Idle, Place
from fleet.calc.intervals import EXPANSION, GAP, SAMPLE, WHOLE_GROUP
from tests.fleet.calc.group_members import (
    BEGAN,
    HIGH,
    SOUND,
    day,
    due,
    member,
    sound,
    vacant,
)


def test_a_failure_pulls_in_two_more_of_those_longest_untested_at_once():
    begun = {"counts_from": "commissioned_on", "commissioned_on": BEGAN}
    group = [
        member(1, [(day("2011-06-01"), HIGH, True)], **begun),
        *(member(n, [], **begun) for n in range(2, 7)),
    ]
    said = due(group, "2011-06-01")
    assert said["M2"] == said["M3"] == ("2011-06-01", EXPANSION)
    assert said["M4"][1] != EXPANSION
    assert due(group, "2011-05-31")["M2"] == ("2012-01-01", SAMPLE)


def failing(first, second):
    begun = {"counts_from": "commissioned_on", "commissioned_on": BEGAN}
    return [
        member(1, [(day("2011-06-01"), first, True)], **begun),
        member(2, [(day("2011-07-01"), second, True)], **begun),
        *(member(n, [], **begun) for n in range(3, 7)),
    ]


def test_a_failure_among_those_pulls_in_the_whole_group():
    said = due(failing(HIGH, HIGH), "2011-07-01")
    assert said["M3"] == ("2011-06-01", WHOLE_GROUP)  # called in before, and still owing
    assert [said[f"M{n}"] for n in (4, 5, 6)] == [("2011-07-01", WHOLE_GROUP)] * 3
    assert said["M1"][1] not in (EXPANSION, WHOLE_GROUP)  # tested since the first failure


def test_a_sound_test_of_one_called_in_ends_its_own_call_alone():
    said = due(failing(HIGH, SOUND), "2011-07-01")
    assert said["M2"] == ("2016-07-01", GAP)
    assert said["M3"] == ("2011-06-01", EXPANSION)
    assert said["M4"] == ("2013-07-01", SAMPLE)  # after M3, which owes by 2013-06-01 anyhow


def test_those_never_tested_are_called_in_before_any_other():
    begun = {"counts_from": "commissioned_on", "commissioned_on": BEGAN}
    failing_one = member(1, [(day("2011-06-01"), HIGH, True)], **begun)
    group = [failing_one, *(member(n, [], **begun) for n in (2, 3, 4)), member(5, [])]
    said = due(group, "2011-06-01")
    assert said["M2"] == ("2011-06-01", EXPANSION)
    assert said["M3"][1] != EXPANSION  # M5, which has no record, is the other
    assert said["M5"] == (None, "")


def test_an_empty_place_is_not_one_of_those_a_failure_calls_in():
    begun = {"counts_from": "commissioned_on", "commissioned_on": BEGAN}
    failed = member(1, [(day("2011-06-01"), HIGH, True)], **begun)
    group = [failed, *(vacant(n) for n in (2, 3)), *(member(n, [], **begun) for n in (4, 5, 6))]
    said = due(group, "2011-06-01")
    assert said["M4"] == said["M5"] == ("2011-06-01", EXPANSION)
    assert said["M6"][1] != EXPANSION


def test_a_failure_while_laid_up_calls_for_more_and_one_after_leaving_does_not():
    begun = {"counts_from": "commissioned_on", "commissioned_on": BEGAN}
    out = Place(idles=[Idle(day("2011-05-01"), day("2011-07-01"))])
    tests = [(day("2011-06-01"), HIGH, True)]
    others = [member(n, [], **begun) for n in range(2, 7)]
    laid_up = member(1, tests, place_facts=out, **begun)
    assert due([laid_up, *others], "2011-06-01")["M2"] == ("2011-06-01", EXPANSION)
    left = laid_up._replace(owed=replace(laid_up.owed, until_on=day("2011-05-01")))
    assert due([*others, left], "2011-06-01", only="M2")["M2"][1] == SAMPLE


def test_those_tested_within_the_window_are_not_called_in():
    """Which of the others are asked: I-1320(c) says further ones (from memory); those just tested
    in the same window have answered, those tested before it have not."""
    group = [
        member(1, [(day("2021-06-01"), HIGH, True)]),
        member(2, sound("2018-01-01")),
        member(3, sound("2019-06-02")),
        *(member(n, sound("2021-05-01")) for n in (4, 5, 6)),
    ]
    called = {key for key, (_, limit) in due(group, "2021-06-01").items() if limit == EXPANSION}
    assert called == {"M2"}  # M3 was tested a day within the 24 months


@pytest.mark.parametrize(
    ("found", "fails"),
    [
        (Found(Fraction(301, 100), False, "high"), True),
        (Found(Fraction(3), False, "high"), False),  # outside the owner's, inside the rule's band
        (Found(Fraction(-4), False, "in"), False),  # the owner's tolerance is the greater
        (Found(Fraction(-4), False, ""), True),  # no tolerance given: the rule's band alone
        (Found(None, False, "low"), True),
        (Found(Fraction(2), True, ""), True),  # it never opened
    ],
)
def test_what_counts_as_a_failure(found, fails):
    """ASME OM Appendix I, I-1320(c): the greater of the owner's tolerance and 3 % (from memory)."""
    said = due(failing(found, SOUND), "2011-06-15")
    assert (said["M3"][1] == EXPANSION) is fails


def test_a_device_found_failing_and_scrapped_calls_for_more_too():
    group = failing(HIGH, SOUND)
    scrapped = group[0]._replace(
        events=[event._replace(is_counted=False) for event in group[0].events]
    )
    said = due([scrapped, *group[1:]], "2011-06-15")
    assert said["M2"][1] == said["M3"][1] == EXPANSION
