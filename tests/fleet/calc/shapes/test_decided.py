"""What decisions may set, rule by rule, and the rule that leaves everything to them."""

import pytest

from fleet.calc.durations import parse_duration
from fleet.calc.intervals import (
    ACT_BY,
    DECISION,
    RETURN,
    ByHistory,
    Due,
    MaxGap,
    RuleError,
    shape_from,
)
from tests.fleet.calc.shapes.given import day, days

SAMPLE = {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"}
WITH_AN_INTERVAL = [
    ("max_gap", {"gap": "P5Y"}, "P5Y"),
    ("calendar", {"times": 1, "unit": "year", "n": 1, "gap": "P15M"}, "P15M"),
    ("rolling", {"count": 2, "window": "P5Y", "gap": "P3Y"}, "P3Y"),
    ("capped", {"target": "P3M", "cap": "P120D"}, "P3M"),
    ("group_sample", SAMPLE, "P5Y"),
]
WITHOUT = [
    ("usage", {"counter": "service_days", "count": 92}),
    ("after_event", {"kinds": ["release"], "days": 5}),
    ("before_use", {"lead": "P30D", "window": "P1Y"}),
]


def test_by_history_gives_no_date_without_a_decision():
    assert ByHistory().due(days("2024-03-10")) is None
    assert ByHistory().undated() == (
        "the rule leaves the interval to a decision, and none is recorded"
    )
    decided = ByHistory().with_interval(parse_duration("P2Y"))
    assert decided.due(days("2024-03-10")).due_on == day("2026-03-10")


def test_what_was_decided_keeps_what_the_rule_says_of_days_out_of_service():
    shape = shape_from("by_history", {"out_of_service": "run", "ceiling": "P10Y"})
    assert shape.with_interval(parse_duration("P2Y")) == MaxGap(
        parse_duration("P2Y"), out_of_service="run", ceiling=parse_duration("P10Y")
    )
    own = shape_from("max_gap", {"gap": "P5Y", "out_of_service": "test_before_return"})
    assert own.with_interval(parse_duration("P2Y")).out_of_service == "test_before_return"


@pytest.mark.parametrize(("kind", "parameters", "own"), WITH_AN_INTERVAL)
def test_a_decision_may_shorten_freely_and_not_lengthen(kind, parameters, own):
    shape = shape_from(kind, parameters)
    shape.check_interval(parse_duration(own))
    shape.check_interval(parse_duration("P1D"))
    with pytest.raises(RuleError, match="no longer than the rule's own") as caught:
        shape.check_interval(parse_duration("P10Y"))
    assert (caught.value.field, caught.value.typed) == ("interval", "P10Y")


@pytest.mark.parametrize(("kind", "parameters", "own"), WITH_AN_INTERVAL)
def test_a_decision_may_lengthen_up_to_the_ceiling_where_the_rule_has_one(kind, parameters, own):
    shape = shape_from(kind, parameters | {"ceiling": "P10Y"})
    for allowed in (own, "P10Y", "P120M"):
        shape.check_interval(parse_duration(allowed))
    with pytest.raises(RuleError, match="no longer than the ceiling 10 years"):
        shape.check_interval(parse_duration("P10Y1D"))


@pytest.mark.parametrize(
    ("own", "interval", "is_allowed"),
    [  # a month has 28 to 31 days, a year 365 or 366: longer on any day is longer
        ("P1M", "P28D", True),
        ("P1M", "P29D", False),
        ("P1M", "P30D", False),
        ("P1Y", "P365D", True),
        ("P1Y", "P366D", False),
        ("P366D", "P1Y", True),
        ("P365D", "P1Y", False),
        ("P92D", "P3M", True),
        ("P91D", "P3M", False),
    ],
)
def test_days_and_months_are_compared_from_every_day(own, interval, is_allowed):
    shape = MaxGap(parse_duration(own))
    if is_allowed:
        shape.check_interval(parse_duration(interval))
    else:
        with pytest.raises(RuleError):
            shape.check_interval(parse_duration(interval))


@pytest.mark.parametrize(("kind", "parameters"), WITHOUT)
def test_a_rule_without_an_interval_leaves_nothing_to_decide(kind, parameters):
    shape = shape_from(kind, parameters)
    with pytest.raises(RuleError, match="no decision: the rule is") as caught:
        shape.check_interval(parse_duration("P1D"))
    assert (caught.value.field, caught.value.typed) == ("interval", "P1D")
    assert shape.with_interval(parse_duration("P1D")) == shape


def test_by_history_takes_any_interval_up_to_its_ceiling():
    ByHistory().check_interval(parse_duration("P200Y"))
    ceiling = shape_from("by_history", {"ceiling": "P10Y"})
    ceiling.check_interval(parse_duration("P10Y"))
    with pytest.raises(RuleError, match="no longer than the ceiling 10 years"):
        ceiling.check_interval(parse_duration("P11Y"))


@pytest.mark.parametrize("shape", [ByHistory(), MaxGap(parse_duration("P5Y"))])
def test_an_interval_of_nothing_is_none(shape):
    with pytest.raises(RuleError, match="longer than nothing"):
        shape.check_interval(parse_duration("P0D"))


def test_the_reason_of_a_decision_says_what_was_decided():
    shape, last = ByHistory().with_interval(parse_duration("P3Y")), day("2020-01-01")
    decided = Due(day("2023-01-01"), None, DECISION)
    acted = Due(day("2023-09-30"), None, ACT_BY)
    assert shape.reason(decided, last, "decided by A. Engineer") == (
        "3 years after 2020-01-01 (decided by A. Engineer)"
    )
    assert shape.reason(acted, last, "") == (
        "act by 2023-09-30, because the interval decided on was already past,"
        " counted from 2020-01-01"
    )


def test_the_reason_of_a_return_is_the_same_for_every_rule():
    due = Due(day("2024-05-01"), None, RETURN)
    for kind, parameters in [("max_gap", {"gap": "P5Y"}), *WITHOUT]:
        assert shape_from(kind, parameters).reason(due, day("2020-01-01"), "49 CFR") == (
            "before its return to service on 2024-05-01, last done 2020-01-01 (49 CFR)"
        )
