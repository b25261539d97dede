"""Group sampling, against its own definition: every window counted, every failure followed.

The figures of class 1 (a fifth in any 24 months, each within 5 years, two more after a failure) are
those of ASME OM Appendix I, I-1320; the rest of the scenarios is made up here.
"""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.calc.duedates import Idle, Place
from fleet.calc.groups import replay_group
from fleet.calc.intervals import GAP, SAMPLE, shape_from
from tests.fleet.calc.group_members import (
    BEGAN,
    CLASS_1,
    HIGH,
    SOUND,
    day,
    due,
    member,
    on,
    sound,
    vacant,
)


@pytest.mark.parametrize(("members", "needed"), [(5, 1), (6, 2), (16, 4), (1, 1), (10, 2), (11, 3)])
def test_a_fifth_is_rounded_up(members, needed):
    """ASME OM Appendix I, I-1320(a): "a minimum of 20 %", rounded up."""
    assert CLASS_1.needed(members) == needed


def test_the_longest_untested_owes_before_the_last_tests_leave_the_window():
    group = [
        member(1, sound("2016-01-01")),
        member(2, sound("2017-01-01")),
        member(3, sound("2018-01-01")),
        member(4, sound("2019-01-01")),
        member(5, sound("2019-06-01")),
    ]
    assert due(group, "2019-07-01") == {
        "M1": ("2021-01-01", GAP),  # its own five years end before the window does
        "M2": ("2022-01-01", GAP),
        "M3": ("2023-01-01", GAP),
        "M4": ("2024-01-01", GAP),
        "M5": ("2024-06-01", GAP),
    }
    assert due([member(1, sound("2018-01-01")), *group[1:]], "2019-07-01")["M2"] == (
        "2021-06-01",
        SAMPLE,
    )


def test_a_group_of_six_owes_two_in_any_window():
    tests = ["2018-01-01", "2018-02-01", "2018-03-01", "2018-04-01", "2019-05-01", "2019-06-01"]
    said = due([member(n, sound(text)) for n, text in enumerate(tests, 1)], "2019-07-01")
    assert said["M1"] == ("2021-05-01", SAMPLE)  # 24 months after the second last test
    assert said["M2"] == ("2021-06-01", SAMPLE)  # 24 months after the last
    assert said["M3"] == ("2023-03-01", GAP)


def test_members_begun_together_are_sampled_from_their_commissioning():
    begun = {"counts_from": "commissioned_on", "commissioned_on": BEGAN}
    said = due([member(n, [], **begun) for n in range(1, 6)], "2010-06-01")
    assert said["M1"] == ("2012-01-01", SAMPLE)
    assert said["M2"] == ("2015-01-01", GAP)


def test_members_never_tested_are_members_and_owe_the_shortfall_first():
    tests = ["2016-01-01", "2016-02-01", "2016-03-01", "2016-04-01", "2017-01-01"]
    dated = [member(n, sound(text)) for n, text in enumerate(tests, 1)]
    assert due(dated, "2017-06-01")["M1"] == ("2019-01-01", SAMPLE)
    said = due([*dated, *(member(n, []) for n in (6, 7, 8))], "2017-06-01")
    assert said["M6"] == (None, "")  # no record: never in order, whatever the windows
    assert said["M1"] == ("2021-01-01", GAP)  # of two needed in any window both are theirs


def test_an_empty_place_answers_no_shortfall_for_the_others():
    """Nothing can be tested where nothing is fitted, so the windows fall to those that are."""
    pair = [vacant(1, since="2012-06-01"), member(2, sound("2011-06-01"))]
    assert due(pair, "2012-06-01")["M2"] == ("2013-06-01", SAMPLE)
    assert due(pair, "2012-06-01")["M1"] == (None, "")
    every = shape_from("group_sample", CLASS_1.parameters() | {"fraction": "1"})
    whole = [vacant(1, since="2012-06-01"), member(2, sound("2011-06-01"), shape=every)]
    whole = [one._replace(owed=replace(one.owed, shape=every)) for one in whole]
    assert due(whole, "2012-06-01")["M2"] == ("2013-06-01", SAMPLE)


def test_members_out_of_service_are_not_counted_nor_drawn():
    out = Place(idles=[Idle(day("2019-01-01"), None)])
    tests = ["2018-01-01", "2018-02-01", "2018-03-01", "2018-04-01", "2019-05-01"]
    group = [member(n, sound(text)) for n, text in enumerate(tests, 1)]
    group.append(member(6, sound("2017-01-01"), place_facts=out))
    assert due(group, "2018-12-31")["M6"] == ("2020-04-01", SAMPLE)
    said = due(group, "2019-07-01")
    assert said["M6"] == (None, "")
    assert said["M1"] == ("2021-05-01", SAMPLE)
    assert said["M2"] == ("2023-02-01", GAP)


@st.composite
def groups(draw):
    """A rule and the first tests of its members, all within a window of its beginning."""
    size = draw(st.integers(1, 7))
    fraction = draw(st.sampled_from(["0.20", "0.34", "0.5", "1"]))
    months = draw(st.sampled_from([6, 12, 24]))
    gap = months * draw(st.integers(1, 4))
    shape = shape_from(
        "group_sample",
        {
            "fraction": fraction,
            "window": f"P{months}M",
            "gap": f"P{gap}M",
            "expansion": 1,
            "band": "3 %",
        },
    )
    first = [BEGAN + timedelta(days=draw(st.integers(0, 30 * months - 31))) for _ in range(size)]
    early = draw(st.lists(st.integers(0, 200), min_size=15, max_size=15))
    return shape, first, early


def worked_through(shape, first, early):
    """Every member tested on its due day or some days before it, whoever is due first first."""
    tests = [[on] for on in first]
    for lead in early:
        group = [
            member(n, [(on, SOUND, True) for on in done], shape=shape)
            for n, done in enumerate(tests)
        ]
        spans = replay_group(group)
        due_on, place = min((spans[f"M{n}"][-1].due_on, n) for n in range(len(tests)))
        known = max(on for done in tests for on in done)
        tests[place].append(max(known, due_on - timedelta(days=lead)))
        assert tests[place][-1] <= due_on
    return tests


@given(groups())
@settings(max_examples=60, deadline=None)
def test_who_tests_by_the_dates_given_never_lets_a_window_fall_short(drawn):
    """Brute force: the members tested in the window that ends on each day, one after another."""
    shape, first, early = drawn
    tests = worked_through(shape, first, early)
    needed, last = shape.needed(len(first)), max(on for done in tests for on in done)
    for number in range((last - max(first)).days):  # on the last day others may follow
        end = max(first) + timedelta(days=number)
        held = sum(any(on <= end < shape.window.after(on) for on in done) for done in tests)
        assert held >= needed, end
    for done in tests:
        assert all(other <= shape.gap.after(one) for one, other in pairwise(done))


@given(groups(), st.randoms())
def test_the_order_of_facts_says_nothing(drawn, dice):
    shape, first, _ = drawn
    group = [
        member(n, [(on, HIGH if n % 3 == 0 else SOUND, True)], shape=shape)
        for n, on in enumerate(first)
    ]
    mixed = [m._replace(events=dice.sample(m.events, len(m.events))) for m in group]
    assert replay_group(group) == replay_group(mixed)


def shortfalls(shape, last):
    """{member: day}, looking ahead a day at a time: where the window that ends on it would hold
    too few, the longest untested of those not yet called on owes by that day."""
    called, end = {}, min(last.values())
    while len(called) < shape.needed(len(last)):
        held = [n for n in last if last[n] <= end < shape.window.after(last[n])]
        held += [n for n in called if n not in held and end < shape.window.after(called[n])]
        if end >= max(last.values()) and len(held) < shape.needed(len(last)):
            called[min((on, n) for n, on in last.items() if n not in called)[1]] = end
        else:
            end += timedelta(days=1)
    return called


@given(groups())
@settings(max_examples=60, deadline=None)
def test_the_dates_are_those_of_a_look_ahead_day_by_day(drawn):
    shape, first, _ = drawn
    group = [member(n, [(on, SOUND, True)], shape=shape) for n, on in enumerate(first)]
    spans = replay_group(group)
    owed = shortfalls(shape, dict(enumerate(first)))
    for n, began in enumerate(first):
        expected = min(shape.gap.after(began), owed.get(n, date.max))
        assert spans[f"M{n}"][-1].due_on == expected


@given(groups(), st.integers(0, 900), st.randoms())
@settings(max_examples=60, deadline=None)
def test_no_answer_depends_on_what_happens_later(drawn, after, dice):
    shape, first, early = drawn
    tests = [[(on, dice.choice([SOUND, HIGH]), dice.random() < 0.8)] for on in first]
    for lead in early[:6]:
        then = BEGAN + timedelta(days=lead * 5)
        tests[dice.randrange(len(tests))].append((then, dice.choice([SOUND, HIGH]), True))
    now = BEGAN + timedelta(days=after)
    whole = [
        member(n, sorted(done, key=lambda test: test[0]), shape=shape)
        for n, done in enumerate(tests)
    ]
    known = [
        m._replace(events=[event for event in m.events if event.done_on <= now]) for m in whole
    ]
    then, later = replay_group(known), replay_group(whole)
    for key in then:
        one, other = on(then[key], now), on(later[key], now)
        assert one._replace(until_on=None) == other._replace(until_on=None)
