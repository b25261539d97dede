"""Stored parameters: they read back as they were, and a wrong one is named."""

import json

import pytest

from fleet.calc.intervals import OUT_OF_SERVICE, SHAPES, RuleError, shape_from

GAP = {"gap": "P5Y"}
YEARLY = {"times": 1, "unit": "year", "n": 1, "gap": "P15M"}
ROLLING = {"count": 2, "window": "P5Y", "gap": "P3Y"}
CAPPED = {"target": "P3M", "cap": "P120D"}
STEPS = {"steps": [["P0D", "P4Y"], ["P12Y", "P2Y"], [None, "P1Y"]]}
USAGE = {"counter": "service_days", "count": 92}
AFTER = {"kinds": ["release", "alteration"], "days": 5}
SEASON = {"lead": "P30D", "window": "P1Y"}
SAMPLE = {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"}

READ_BACK = [
    ("max_gap", GAP),
    ("max_gap", {"gap": "P7M15D", "out_of_service": "run"}),
    ("max_gap", {"gap": "P5Y", "out_of_service": "test_before_return", "ceiling": "P10Y"}),
    ("max_gap", {"gap": "P5Y", "ceiling": "P60M"}),
    ("calendar", YEARLY),
    ("calendar", {"times": 2, "unit": "month", "gap": "P6W"}),
    ("rolling", ROLLING),
    ("rolling", ROLLING | {"ceiling": "P4Y"}),
    ("capped", CAPPED),
    ("age_steps", STEPS),
    ("age_steps", {"steps": [[None, "P1Y"]]}),
    ("usage", USAGE),
    ("usage", {"counter": "running hours", "count": 8000, "out_of_service": "run"}),
    ("after_event", AFTER),
    ("after_event", {"kinds": ["release"], "days": 0}),
    ("before_use", SEASON),
    ("before_use", {"lead": "P0D", "window": "P6M"}),
    ("group_sample", SAMPLE),
    ("group_sample", SAMPLE | {"fraction": "1", "band": "2.5 %"}),
    ("by_history", {}),
    ("by_history", {"ceiling": "P10Y"}),
]


@pytest.mark.parametrize(("kind", "parameters"), READ_BACK)
def test_parameters_read_back_as_they_were(kind, parameters):
    shape = shape_from(kind, parameters)
    assert shape.parameters() == parameters
    assert shape_from(kind, json.loads(json.dumps(shape.parameters()))) == shape
    assert SHAPES[kind] is type(shape)


def test_every_shape_is_among_them():
    assert {kind for kind, _ in READ_BACK} == set(SHAPES)


def test_what_needs_no_saying_is_not_stored():
    assert shape_from("max_gap", GAP | {"out_of_service": "stop"}).parameters() == GAP
    assert shape_from("group_sample", SAMPLE | {"band": "3.0%"}).parameters() == SAMPLE


def test_a_shape_can_be_kept_in_a_set():
    assert len({shape_from(kind, parameters) for kind, parameters in READ_BACK}) == len(READ_BACK)


REFUSED = [
    ("rolling_eggs", {}, "kind", "rolling_eggs"),
    ("max_gap", {}, "gap", ""),
    ("max_gap", {"gap": "5 years"}, "gap", "5 years"),
    ("max_gap", {"gap": 5}, "gap", "5"),
    ("max_gap", {"gap": "P0D"}, "gap", "P0D"),
    ("max_gap", {"gap": "P1Y2W"}, "gap", "P1Y2W"),
    ("max_gap", GAP | {"times": 1}, "times", "1"),
    ("calendar", {"gap": "P15M"}, "times", ""),
    ("calendar", YEARLY | {"times": 0}, "times", "0"),
    ("calendar", YEARLY | {"times": True}, "times", "True"),
    ("calendar", YEARLY | {"times": 367}, "times", "367"),
    ("calendar", YEARLY | {"times": 2}, "n", "1"),
    ("calendar", YEARLY | {"unit": "week"}, "unit", "week"),
    ("calendar", YEARLY | {"unit": ["year"]}, "unit", "['year']"),
    ("calendar", {"times": 1, "unit": "year", "gap": "P15M"}, "n", ""),
    ("rolling", ROLLING | {"count": 1}, "count", "1"),  # that is a plain gap
    ("rolling", ROLLING | {"count": "2"}, "count", "2"),
    ("rolling", ROLLING | {"window": "P0D"}, "window", "P0D"),
    ("rolling", {"count": 2, "window": "P5Y"}, "gap", ""),
    ("rolling", ROLLING | {"times": 2}, "times", "2"),
    ("capped", {"target": "P3M"}, "cap", ""),
    ("capped", CAPPED | {"target": "P4M"}, "target", "P4M"),  # up to 123 days, past the 120
    ("capped", CAPPED | {"gap": "P3M"}, "gap", "P3M"),
    ("age_steps", {}, "steps", ""),
    ("age_steps", {"steps": []}, "steps", "[]"),
    ("age_steps", {"steps": "P1Y"}, "steps", "P1Y"),
    ("age_steps", {"steps": ["P1Y"]}, "steps", "P1Y"),
    ("age_steps", {"steps": [[None, "P1Y", "P2Y"]]}, "steps", "[None, 'P1Y', 'P2Y']"),
    ("age_steps", {"steps": [["P12Y", "P2Y"]]}, "steps", "['P12Y', 'P2Y']"),  # and after that?
    ("age_steps", {"steps": [[None, "P2Y"], [None, "P1Y"]]}, "steps", "[None, 'P1Y']"),
    ("age_steps", {"steps": [["P4Y", "P2Y"], ["P4Y", "P1Y"]]}, "steps", "['P4Y', 'P1Y']"),
    (
        "age_steps",
        {"steps": [["P30D", "P2Y"], ["P1M", "P1Y"], [None, "P1Y"]]},
        "steps",
        "['P1M', 'P1Y']",  # a month may be shorter than 30 days
    ),
    ("age_steps", {"steps": [["P1Y", "P2Y"], ["P0D", "P1Y"], [None, "P1Y"]]}, "steps", "P0D"),
    ("age_steps", {"steps": [["P0D", "P0D"], [None, "P1Y"]]}, "steps", "P0D"),
    ("age_steps", {"steps": [[None, "1 year"]]}, "steps", "1 year"),
    ("age_steps", {"steps": [[4, "P1Y"], [None, "P1Y"]]}, "steps", "4"),
    ("age_steps", STEPS | {"ceiling": "P9Y"}, "ceiling", "P9Y"),
    ("usage", {"count": 92}, "counter", ""),
    ("usage", USAGE | {"counter": " "}, "counter", " "),
    ("usage", USAGE | {"counter": "hours "}, "counter", "hours "),
    ("usage", USAGE | {"counter": "h" * 41}, "counter", "h" * 41),
    ("usage", USAGE | {"counter": 7}, "counter", "7"),
    ("usage", USAGE | {"count": 0}, "count", "0"),
    ("usage", USAGE | {"count": 92.5}, "count", "92.5"),
    ("usage", USAGE | {"count": 10_000_001}, "count", "10000001"),
    ("usage", USAGE | {"ceiling": "P9Y"}, "ceiling", "P9Y"),
    ("after_event", {"days": 5}, "kinds", ""),
    ("after_event", AFTER | {"kinds": []}, "kinds", "[]"),
    ("after_event", AFTER | {"kinds": "release"}, "kinds", "release"),
    ("after_event", AFTER | {"kinds": ["release", "rain"]}, "kinds", "rain"),
    ("after_event", AFTER | {"kinds": ["release", "release"]}, "kinds", "release"),
    ("after_event", AFTER | {"kinds": [["release"]]}, "kinds", "['release']"),
    ("after_event", AFTER | {"days": -1}, "days", "-1"),
    ("after_event", AFTER | {"days": 367}, "days", "367"),
    ("after_event", {"kinds": ["release"]}, "days", ""),
    ("after_event", AFTER | {"ceiling": "P9Y"}, "ceiling", "P9Y"),
    ("before_use", {"window": "P6M"}, "lead", ""),
    ("before_use", SEASON | {"window": "P0D"}, "window", "P0D"),
    ("before_use", SEASON | {"window": "P30D"}, "window", "P30D"),  # nothing left of it
    ("before_use", SEASON | {"window": "P1M"}, "window", "P1M"),  # in February
    ("before_use", SEASON | {"ceiling": "P9Y"}, "ceiling", "P9Y"),
    ("before_use", SEASON | {"season": "10-01"}, "season", "10-01"),
    ("group_sample", SAMPLE | {"fraction": 0.2}, "fraction", "0.2"),
    ("group_sample", SAMPLE | {"fraction": "0"}, "fraction", "0"),
    ("group_sample", SAMPLE | {"fraction": "1.01"}, "fraction", "1.01"),
    ("group_sample", SAMPLE | {"fraction": "20 %"}, "fraction", "20 %"),
    ("group_sample", SAMPLE | {"fraction": "٠.٢"}, "fraction", "٠.٢"),
    ("group_sample", SAMPLE | {"window": "24 months"}, "window", "24 months"),
    ("group_sample", SAMPLE | {"expansion": 0}, "expansion", "0"),
    ("group_sample", SAMPLE | {"band": "3"}, "band", "3"),
    ("group_sample", SAMPLE | {"band": "-3 %"}, "band", "-3 %"),
    ("group_sample", SAMPLE | {"band": "101 %"}, "band", "101 %"),
    ("group_sample", SAMPLE | {"band": 3}, "band", "3"),
    ("by_history", GAP, "gap", "P5Y"),
    ("max_gap", GAP | {"out_of_service": "pause"}, "out_of_service", "pause"),
    ("max_gap", GAP | {"out_of_service": None}, "out_of_service", "None"),
    ("max_gap", GAP | {"ceiling": "P4Y"}, "ceiling", "P4Y"),
    ("max_gap", GAP | {"ceiling": "10 years"}, "ceiling", "10 years"),
    ("max_gap", GAP | {"ceiling": None}, "ceiling", "None"),
    ("rolling", ROLLING | {"ceiling": "P2Y"}, "ceiling", "P2Y"),
    ("capped", CAPPED | {"ceiling": "P89D"}, "ceiling", "P89D"),
    ("group_sample", SAMPLE | {"ceiling": "P59M"}, "ceiling", "P59M"),
]


@pytest.mark.parametrize(("kind", "parameters", "field", "typed"), REFUSED)
def test_a_wrong_parameter_is_named_with_what_was_typed(kind, parameters, field, typed):
    with pytest.raises(RuleError) as caught:
        shape_from(kind, parameters)
    assert (caught.value.field, caught.value.typed) == (field, typed)
    assert caught.value.expected


def test_what_was_expected_is_said():
    def expected(kind, parameters):
        with pytest.raises(RuleError) as caught:
            shape_from(kind, parameters)
        return caught.value.expected

    assert "weeks stand alone" in expected("max_gap", {"gap": "P1Y2W"})
    assert expected("max_gap", GAP | {"ceiling": "P4Y"}) == "no less than the rule's own 5 years"
    assert "no decision may lengthen usage" in expected("usage", USAGE | {"ceiling": "P9Y"})
    assert expected("max_gap", GAP | {"out_of_service": "x"}) == "stop, run or test_before_return"
    assert expected("max_gap", GAP | {"n": 1}) == "only gap for max_gap"
    assert expected("before_use", SEASON | {"window": "P1M"}) == "longer than the lead P30D"
    assert "as its gap" in expected("age_steps", {"steps": [[None, "1 year"]]})


def test_what_else_the_rule_says_is_in_words():
    assert shape_from("max_gap", GAP).conditions() == [OUT_OF_SERVICE["stop"]]
    parameters = GAP | {"out_of_service": "test_before_return", "ceiling": "P10Y"}
    assert shape_from("max_gap", parameters).conditions() == [
        OUT_OF_SERVICE["test_before_return"],
        "a decision may lengthen it to 10 years",
    ]
