"""Group sampling, against its own definition: every window counted, every failure followed.

The figures of class 1 (a fifth in any 24 months, each within 5 years, two more after a failure) are
those of ASME OM Appendix I, I-1320; the rest of the scenarios is made up here.
"""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.calc.duedates import NOWHERE, Event, Found, Idle, Owed, Place, Spell, Standing
from fleet.calc.groups import Member, replay_group
from fleet.calc.intervals import EXPANSION, GAP, SAMPLE, WHOLE_GROUP, shape_from

CLASS_1 = shape_from(
    "group_sample",
    {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"},
)
BEGAN = date(2010, 1, 1)
SOUND = Found(Fraction(1, 2), False, "in")
HIGH = Found(Fraction(5), False, "high")


def day(text):
    return date.fromisoformat(text)


def member(place, tests, *, shape=CLASS_1, place_facts=NOWHERE, **owed):
    """A member with its own device; tests: (day, what was found, does it count)."""
    events = [
        Event(place * 100 + n, place, None, "bench_test", on, found, counts)
        for n, (on, found, counts) in enumerate(tests)
    ]
    facts = {"commissioned_on": None, "counts_from": "done_on"} | owed
    return Member(
        f"M{place}",
        Owed("bench_test", shape, facts["counts_from"], None, facts["commissioned_on"], None, None),
        place,
        [Spell(place, place, BEGAN, None)],
        events,
        [],
        [Standing(None, True)],
        place_facts,
    )


def sound(*days):
    return [(day(text), SOUND, True) for text in days]


def on(spans, when):
    return next(s for s in spans if s.from_on <= when and (s.until_on is None or when < s.until_on))


def due(members, when, only=""):
    """{member: (due, limit)} on a day."""
    found = replay_group(members)
    lines = {k: on(spans, day(when)) for k, spans in found.items() if only in ("", k)}
    return {key: (line.due_on and str(line.due_on), line.limit) for key, line in lines.items()}


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


def test_members_never_tested_are_members_and_owe_the_shortfall_first():
    tests = ["2016-01-01", "2016-02-01", "2016-03-01", "2016-04-01", "2017-01-01"]
    dated = [member(n, sound(text)) for n, text in enumerate(tests, 1)]
    assert due(dated, "2017-06-01")["M1"] == ("2019-01-01", SAMPLE)
    said = due([*dated, *(member(n, []) for n in (6, 7, 8))], "2017-06-01")
    assert said["M6"] == (None, "")  # no record: never in order, whatever the windows
    assert said["M1"] == ("2021-01-01", GAP)  # of two needed in any window both are theirs


def vacant(number, *, since="2010-01-01"):
    """A member with nothing fitted from a day on."""
    there = member(number, sound("2011-01-01"))
    return there._replace(spells=[there.spells[0]._replace(removed_on=day(since))])


def test_an_empty_place_answers_no_shortfall_for_the_others():
    """Nothing can be tested where nothing is fitted, so the windows fall to those that are."""
    pair = [vacant(1, since="2012-06-01"), member(2, sound("2011-06-01"))]
    assert due(pair, "2012-06-01")["M2"] == ("2013-06-01", SAMPLE)
    assert due(pair, "2012-06-01")["M1"] == (None, "")
    every = shape_from("group_sample", CLASS_1.parameters() | {"fraction": "1"})
    whole = [vacant(1, since="2012-06-01"), member(2, sound("2011-06-01"), shape=every)]
    whole = [one._replace(owed=replace(one.owed, shape=every)) for one in whole]
    assert due(whole, "2012-06-01")["M2"] == ("2013-06-01", SAMPLE)


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
    for n, on in enumerate(first):
        expected = min(shape.gap.after(on), owed.get(n, date.max))
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
