"""Within days of something that happened, and answered by what is done on that day or later."""

from datetime import timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.intervals import TRIGGER, TRIGGER_KINDS, Due, Known, Trigger, shape_from
from fleet.models import Trigger as RecordedTrigger
from tests.fleet.calc.shapes.given import day, days, happened

# 40 CFR 63.165(b), (d): within 5 calendar days after each pressure release
RELEASE = shape_from("after_event", {"kinds": ["release"], "days": 5})
# 33 CFR 127.1407(a): after an alteration, a major repair or an increase of the MAWP
CHANGES = shape_from(
    "after_event", {"kinds": ["alteration", "major_repair", "mawp_increase"], "days": 0}
)


def due_of(due_on, trigger_on):
    return Due(day(due_on), None, TRIGGER, counted_from=day(trigger_on))


@pytest.mark.parametrize(
    ("triggers", "history", "due"),
    [
        # 40 CFR 63.165(d): five days over a leap day
        ([("release", "2024-02-26")], [], due_of("2024-03-02", "2024-02-26")),
        ([("release", "2024-02-26")], ["2024-02-25"], due_of("2024-03-02", "2024-02-26")),
        ([("release", "2024-02-26")], ["2024-02-26"], None),  # on that day: answered
        ([("release", "2024-02-26")], ["2024-03-09"], None),  # late, and answered
        ([], [], None),
        ([("alteration", "2024-02-26")], [], None),  # nothing this rule asks about
        (
            [("release", "2024-02-26"), ("release", "2024-02-28")],
            [],
            due_of("2024-03-02", "2024-02-26"),
        ),
        (
            [("release", "2024-02-26"), ("release", "2024-02-28")],
            ["2024-02-27"],
            due_of("2024-03-04", "2024-02-28"),
        ),
        ([("release", "2024-02-26"), ("release", "2024-02-28")], ["2024-02-28"], None),
    ],
)
def test_the_earliest_that_is_not_answered_calls_for_it(triggers, history, due):
    assert RELEASE.due(days(*history), happened(*triggers)) == due


@pytest.mark.parametrize("kind", ["alteration", "major_repair", "mawp_increase"])
def test_a_rule_may_answer_several_kinds(kind):
    assert CHANGES.due([], happened((kind, "2024-05-05"))) == due_of("2024-05-05", "2024-05-05")


MOMENTS = st.integers(0, 60).map(lambda number: day("2024-02-01") + timedelta(number))
TOLD = st.lists(st.builds(Trigger, st.sampled_from(["release", "alteration"]), MOMENTS), max_size=6)


@given(told=TOLD, history=st.lists(MOMENTS, max_size=4, unique=True).map(sorted))
def test_it_is_due_for_the_first_release_with_nothing_done_on_or_after_it(told, history):
    due = RELEASE.due(history, Known(triggers=told))
    unanswered = [
        trigger.happened_on
        for trigger in told
        if trigger.kind == "release" and not any(done >= trigger.happened_on for done in history)
    ]
    if not unanswered:
        assert due is None
    else:
        first = min(unanswered)
        assert due == Due(first + timedelta(5), None, TRIGGER, counted_from=first)


@given(told=TOLD, seed=st.integers(0, 99), history=st.lists(MOMENTS, max_size=2).map(sorted))
def test_the_order_in_which_they_are_told_does_not_matter(told, seed, history):
    shuffled = told[:]
    Random(seed).shuffle(shuffled)
    assert RELEASE.due(history, Known(triggers=told)) == RELEASE.due(
        history, Known(triggers=shuffled)
    )


@given(told=TOLD, history=st.lists(MOMENTS, min_size=1, max_size=3).map(sorted), later=MOMENTS)
def test_doing_it_later_never_makes_it_due_earlier(told, history, later):
    known = Known(triggers=told)
    due, moved = RELEASE.due(history, known), RELEASE.due([*history, max(*history, later)], known)
    assert moved is None or (due is not None and moved.due_on >= due.due_on)


def test_the_kinds_are_those_that_can_be_recorded():
    assert dict(RecordedTrigger.Kind.choices) == TRIGGER_KINDS


@pytest.mark.parametrize(
    ("shape", "words", "reason"),
    [
        (RELEASE, "within 5 days of a release", "5 days after the release of 2024-02-26"),
        (
            CHANGES,
            "on the day of an alteration, major repair or increase of the allowed pressure",
            "on the day of the alteration, major repair or increase of the allowed pressure of"
            " 2024-02-26",
        ),
    ],
)
def test_the_reason_names_what_happened_and_when(shape, words, reason):
    due = due_of("2024-03-02", "2024-02-26")
    assert shape.words() == words
    assert shape.reason(due, due.counted_from, "40 CFR") == f"{reason} (40 CFR)"


def test_nothing_open_says_what_would_call_for_it():
    assert RELEASE.undated() == "no release calls for it"
