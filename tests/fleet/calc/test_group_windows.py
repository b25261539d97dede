"""The windows of a sampled group counted day by day, and who was called in by which failure.

The figures of class 1 are those of ASME OM Appendix I, I-1320; the scenarios are made up here.
"""

from datetime import date, timedelta

from hypothesis import given, settings

from fleet.calc.duedates import Idle, Place
from fleet.calc.group_windows import step_on, steps
from fleet.calc.groups import follow, replay_group
from fleet.calc.intervals import EXPANSION, WHOLE_GROUP
from tests.fleet.calc.group_members import BEGAN, CLASS_1, HIGH, SOUND, day, member, sound
from tests.fleet.calc.test_failures import failing
from tests.fleet.calc.test_groups import groups, worked_through


def stepped(members, shape=CLASS_1):
    return steps(shape, [span for spans in replay_group(members).values() for span in spans])


def at(members, when):
    found = step_on(stepped(members), day(when))
    return (found.held, found.needed, found.short)


def test_a_test_leaves_the_window_when_the_window_s_length_is_over():
    group = [
        member(n, sound(text))
        for n, text in enumerate(["2018-01-01", "2018-02-01", "2019-06-01"], 1)
    ]
    assert at(group, "2018-01-31") == (1, 1, 0)
    assert at(group, "2019-12-31") == (3, 1, 0)
    assert at(group, "2020-01-01") == (2, 1, 0)  # 24 months after the first
    assert at(group, "2021-05-31") == (1, 1, 0)
    assert at(group, "2021-06-01") == (0, 1, 1)


def test_who_is_out_of_service_is_neither_counted_nor_held():
    out = Place(idles=[Idle(day("2019-01-01"), day("2019-03-01"))])
    group = [member(n, sound("2018-01-01")) for n in range(1, 6)]
    group.append(member(6, sound("2018-01-01"), place_facts=out))
    found = stepped(group)
    assert step_on(found, day("2018-12-31"))[1:] == (6, 6, 2)
    assert step_on(found, day("2019-01-01"))[1:] == (5, 5, 1)
    assert step_on(found, day("2019-03-01"))[1:] == (6, 6, 2)


@given(groups())
@settings(max_examples=40, deadline=None)
def test_the_steps_are_what_is_counted_on_each_day(drawn):
    """Brute force, over every day."""
    shape, first, early = drawn
    tests = worked_through(shape, first, early)
    group = [
        member(n, [(on, SOUND, True) for on in done], shape=shape) for n, done in enumerate(tests)
    ]
    found = stepped(group, shape)
    for number in range((max(max(done) for done in tests) - BEGAN).days + 400):
        end = BEGAN + timedelta(days=number)
        held = sum(any(on <= end < shape.window.after(on) for on in done) for done in tests)
        step = step_on(found, end)
        assert (step.held, step.size) == (held, len(tests))
        assert step.needed == shape.needed(len(tests))
        if min(first) <= end and max(first) <= end:
            assert step.short == 0 or end >= max(max(done) for done in tests)


def test_each_failure_says_whom_it_called_in_and_when_they_were_tested():
    group = failing(HIGH, HIGH)
    sweep = follow(group, day("2012-01-01"))
    assert [(str(call.on), call.failed, call.limit) for call in sweep.calls] == [
        ("2011-06-01", 0, EXPANSION),
        ("2011-07-01", 1, WHOLE_GROUP),
    ]
    assert [call.called for call in sweep.calls] == [(1, 2), (2, 3, 4, 5)]
    assert sweep.answered == {1: [day("2011-07-01")]}
    assert sorted(sweep.pulled) == [2, 3, 4, 5]


def test_what_is_followed_until_a_day_knows_nothing_later():
    early = follow(failing(HIGH, HIGH), day("2011-06-30"))
    assert len(early.calls) == 1 and early.answered == {} and sorted(early.pulled) == [1, 2]
    late = follow(failing(HIGH, SOUND), date.max)
    assert len(late.calls) == 1 and sorted(late.pulled) == [2]
