"""The interval rules as one family: whatever a rule is, its date keeps to the same promises.

Each shape's own dates, with the law beside them, are in `shapes/`.
"""

from datetime import timedelta
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fleet.calc import intervals
from fleet.calc.durations import parse_duration
from fleet.calc.intervals import (
    AGE,
    CALENDAR,
    CAP,
    GAP,
    SEASON,
    SHAPES,
    WINDOW,
    Known,
    RuleError,
    Trigger,
    shape_from,
)
from tests.fleet.calc.shapes.given import DAYS, GAPS, HISTORIES, day, plus

SAMPLE = {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"}
STEPS = {"steps": [["P0D", "P4Y"], ["P12Y", "P2Y"], [None, "P1Y"]]}
TEXTS = GAPS.map(str)
WITH_A_GAP = st.one_of(  # the shapes whose date is never later than last + gap
    st.builds(lambda gap: shape_from("max_gap", {"gap": gap}), TEXTS),
    st.builds(
        lambda times, unit, gap: shape_from(
            "calendar",
            {"times": times, "unit": unit, "gap": gap} | ({"n": 1} if times == 1 else {}),
        ),
        st.integers(1, 3),
        st.sampled_from(["month", "year"]),
        TEXTS,
    ),
    st.builds(
        lambda count, window, gap: shape_from(
            "rolling", {"count": count, "window": window, "gap": gap}
        ),
        st.integers(2, 4),
        TEXTS,
        TEXTS,
    ),
    st.builds(lambda gap: shape_from("group_sample", SAMPLE | {"gap": gap}), TEXTS),
)
MONOTONE = st.one_of(
    WITH_A_GAP,
    st.just(shape_from("capped", {"target": "P3M", "cap": "P120D"})),
    st.just(shape_from("before_use", {"lead": "P30D", "window": "P1Y"})),
    st.just(shape_from("before_use", {"lead": "P0D", "window": "P6M"})),
)
SEASONAL = Known(season="10-01")


@given(shape=WITH_A_GAP, history=HISTORIES)
def test_no_date_is_later_than_the_gap(shape, history):
    due = shape.due(history)
    assert due.due_on <= plus(history[-1], shape.gap)
    assert due.limit in {GAP, CALENDAR, WINDOW}
    if due.limit == GAP:
        assert due.due_on == plus(history[-1], shape.gap)
    else:
        assert due.due_on < plus(history[-1], shape.gap)


@given(shape=WITH_A_GAP, history=HISTORIES, interval=GAPS)
def test_a_decision_never_moves_a_rule_past_its_other_limits(shape, history, interval):
    """With another interval the date is the earlier of that and what the rule says besides."""
    others = shape.with_interval(parse_duration("P200Y")).due(history).due_on
    decided = shape.with_interval(interval).due(history)
    assert decided.due_on == min(plus(history[-1], interval), others)
    assert (decided.limit == GAP) == (plus(history[-1], interval) <= others)


@given(shape=MONOTONE, history=HISTORIES, later=st.integers(0, 3000))
def test_a_later_last_time_never_makes_it_due_earlier(shape, history, later):
    moved = [*history[:-1], history[-1] + timedelta(later)]
    assert shape.due(moved, SEASONAL).due_on >= shape.due(history, SEASONAL).due_on


@given(shape=MONOTONE, history=HISTORIES, more=st.integers(1, 3000))
def test_doing_it_once_more_never_makes_it_due_earlier(shape, history, more):
    """But for so many in any window while there have been fewer: then only the gap can be asked."""
    assume(len(history) >= getattr(shape, "count", 1))
    again = [*history, history[-1] + timedelta(more)]
    assert shape.due(again, SEASONAL).due_on >= shape.due(history, SEASONAL).due_on


@given(shape=MONOTONE, history=HISTORIES)
def test_it_is_never_due_before_the_day_it_counts_from(shape, history):
    """That is the last time, but for so many in any window: see `shapes/test_gaps.py`."""
    due = shape.due(history, SEASONAL)
    assert due.due_on >= (due.counted_from or history[-1])
    assert due.target_on is None or history[-1] <= due.target_on <= due.due_on


EXAMPLES = {
    "max_gap": {"gap": "P5Y"},
    "calendar": {"times": 1, "unit": "year", "n": 1, "gap": "P15M"},
    "rolling": {"count": 2, "window": "P5Y", "gap": "P3Y"},
    "capped": {"target": "P3M", "cap": "P120D"},
    "age_steps": STEPS,
    "usage": {"counter": "service_days", "count": 92},
    "after_event": {"kinds": ["release"], "days": 5},
    "before_use": {"lead": "P30D", "window": "P1Y"},
    "group_sample": SAMPLE,
    "by_history": {},
}


def test_every_shape_is_among_the_examples():
    assert list(EXAMPLES) == list(SHAPES)


@pytest.mark.parametrize(("kind", "parameters"), EXAMPLES.items())
def test_every_shape_says_itself_in_words(kind, parameters):
    shape = shape_from(kind, parameters)
    assert shape.words() and shape.undated() and shape.conditions()
    assert shape.words()[0].islower() and not shape.words().endswith(".")


@pytest.mark.parametrize(("kind", "parameters"), EXAMPLES.items())
@given(last=DAYS, entered=DAYS, seed=st.integers(0, 99))
def test_what_a_rule_does_not_ask_for_changes_nothing(kind, parameters, last, entered, seed):
    """Only the facts a rule names: a season, triggers and an age mean nothing to the others."""
    shape = shape_from(kind, parameters)
    triggers = [Trigger("alteration", last), Trigger("irregularity", entered)]
    Random(seed).shuffle(triggers)
    told = Known(triggers=triggers)
    if kind != "age_steps":
        told = told._replace(in_service_on=entered)
    if kind != "before_use":
        told = told._replace(season="10-01")
    assert shape.due([last], told) == shape.due([last])


@pytest.mark.parametrize(("kind", "parameters"), EXAMPLES.items())
@given(last=DAYS, interval=GAPS)
def test_every_reason_needs_no_more_than_what_is_stored(kind, parameters, last, interval):
    """Due date, target, limit and the day counted from are what a span keeps."""
    known = Known(
        in_service_on=last, season="10-01", triggers=[Trigger("release", last + timedelta(1))]
    )
    shape = shape_from(kind, parameters).with_interval(interval)
    due = shape.due([last], known)
    if due is None:
        assert kind == "usage"
        return
    counted_from = due.counted_from or last
    stored = type(due)(due.due_on, due.target_on, due.limit)
    sentence = shape.reason(stored, counted_from, "the code")
    assert sentence.endswith(" (the code)")
    assert str(counted_from) in sentence
    assert due.limit in {GAP, CALENDAR, WINDOW, CAP, AGE, SEASON, "trigger"}


def test_shapes_that_need_no_history_answer_without_one():
    entered = Known(in_service_on=day("2010-01-01"))
    for kind, parameters in EXAMPLES.items():
        shape = shape_from(kind, parameters)
        assert shape.needs_history == (kind not in {"age_steps", "after_event"})
        if not shape.needs_history:
            shape.due([], entered)


def test_an_unknown_kind_is_refused_with_those_there_are():
    with pytest.raises(RuleError) as caught:
        shape_from("rolling_eggs", {})
    assert (caught.value.field, caught.value.typed) == ("kind", "rolling_eggs")
    assert all(kind in caught.value.expected for kind in SHAPES)


def test_the_way_in_gives_everything_it_names():
    assert all(hasattr(intervals, name) for name in intervals.__all__)
