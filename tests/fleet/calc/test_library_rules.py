"""The rules of the library: none missing, each with the figures of its section, each worked out."""

from datetime import date

import pytest

from fleet.calc.intervals import Known, Trigger
from fleet.calc.library import rules

ALL_RULES = """
    us-49cfr192.739 us-49cfr192.743 us-49cfr192.731 us-49cfr192.740
    us-49cfr195.428 us-49cfr195.428-hvl us-49cfr195.428-breakout us-49cfr193.2619
    us-33cfr127.1407 us-33cfr127.1407-event us-30cfr250-psv us-30cfr250-month us-30cfr250-quarter
    us-33cfr156.170 us-46cfr61-watertube us-46cfr61-firetube
    us-46cfr38-inspect us-46cfr38-lift us-46cfr98-ammonia us-49cfr230.50 us-49cfr180.605-60
    us-49cfr180.407-test us-49cfr180.407-test-2y us-49cfr180.407-test-1y
    us-49cfr180.407-visual us-49cfr180.407-visual-6m us-49cfr180.509 us-40cfr63.165
    api510-process api510-clean nbic-boiler-low nbic-boiler-low-lever nbic-boiler-high
    nbic-air nbic-steam nbic-disc-combo nbic-propane nbic-heating nbic-heating-lever
    om-class1 om-class2 by-history
"""

YEARLY = ("calendar", {"times": 1, "unit": "year", "n": 1, "gap": "P15M"})
BEFORE_RETURN = {"out_of_service": "test_before_return"}

# The figures as the sections give them. CFR: read in the 2015 annual edition unless said.
READ = {
    # "intervals not exceeding 15 months, but at least once each calendar year": 49 CFR 192.739(a),
    # 192.743(a), 195.428(a); 192.731(a) sends its devices to the first two
    "us-49cfr192.739": YEARLY,
    "us-49cfr192.743": YEARLY,
    "us-49cfr192.731": YEARLY,
    "us-49cfr195.428": YEARLY,
    # 49 CFR 192.740(b), as of 20 June 2026: once every 3 calendar years, not exceeding 39 months
    "us-49cfr192.740": ("calendar", {"times": 1, "unit": "year", "n": 3, "gap": "P39M"}),
    # 49 CFR 195.428(a), highly volatile: at least twice each calendar year, at most 7 1/2 months
    "us-49cfr195.428-hvl": ("calendar", {"times": 2, "unit": "year", "gap": "P7M15D"}),
    # 49 CFR 195.428(b): not exceeding 5 years
    "us-49cfr195.428-breakout": ("max_gap", {"gap": "P5Y"}),
    # 49 CFR 193.2619(c): once each calendar year, not exceeding 15 months; (b): out of service
    # 30 days or more, tested before returning it to service
    "us-49cfr193.2619": ("calendar", YEARLY[1] | BEFORE_RETURN),
    # 33 CFR 127.1407(a)(4), as amended 2022
    "us-33cfr127.1407": YEARLY,
    # 30 CFR 250.804(a)(2): every 12 months; (3): each calendar month, at most 6 weeks apart;
    # (4): every 3 months, at most 120 days apart
    "us-30cfr250-psv": ("max_gap", {"gap": "P12M"}),
    "us-30cfr250-month": ("calendar", {"times": 1, "unit": "month", "n": 1, "gap": "P6W"}),
    "us-30cfr250-quarter": ("capped", {"target": "P3M", "cap": "P120D"}),
    # 33 CFR 156.170(f)(1): annually, or not less than 30 days before the first transfer made
    # past one year from the last tests
    "us-33cfr156.170": ("before_use", {"lead": "P30D", "window": "P1Y"}),
    # 46 CFR table 61.05-10, boiler safety-valve test: watertube 2.5, every firetube column 1;
    # note 2: 2.5 is two within any five-year period, no more than three years apart
    "us-46cfr61-watertube": ("rolling", {"count": 2, "window": "P5Y", "gap": "P3Y"}),
    "us-46cfr61-firetube": ("max_gap", {"gap": "P1Y"}),
    # 46 CFR 38.25-10(a), (b): every 2 years, every 5 years; 98.25-95(c): every four years
    "us-46cfr38-inspect": ("max_gap", {"gap": "P2Y"}),
    "us-46cfr38-lift": ("max_gap", {"gap": "P5Y"}),
    "us-46cfr98-ammonia": ("max_gap", {"gap": "P4Y"}),
    # 49 CFR 230.50 with 230.15(a): after the locomotive has accrued 92 service days
    "us-49cfr230.50": ("usage", {"counter": "service_days", "count": 92}),
    # 49 CFR 180.605(c)(4): at the end of the first 4-year period; every 2 years thereafter up to
    # 12 years of service; annually thereafter. (b)(3): a year out of service, before further use
    "us-49cfr180.605-60": (
        "age_steps",
        {"steps": [["P0D", "P4Y"], ["P12Y", "P2Y"], [None, "P1Y"]], **BEFORE_RETURN},
    ),
    # 49 CFR 180.407(c), pressure test: all other tanks 5 years; chlorine, and vacuum-loaded with
    # full-opening rear heads, 2; insulated without manhole 1. (b)(3): a year out, before use
    "us-49cfr180.407-test": ("max_gap", {"gap": "P5Y", **BEFORE_RETURN}),
    "us-49cfr180.407-test-2y": ("max_gap", {"gap": "P2Y", **BEFORE_RETURN}),
    "us-49cfr180.407-test-1y": ("max_gap", {"gap": "P1Y", **BEFORE_RETURN}),
    # 49 CFR 180.407(c), external visual: 1 year, vacuum-loaded 6 months
    "us-49cfr180.407-visual": ("max_gap", {"gap": "P1Y"}),
    "us-49cfr180.407-visual-6m": ("max_gap", {"gap": "P6M"}),
    # 49 CFR 180.509(k)(1): at least once every ten years
    "us-49cfr180.509": ("max_gap", {"gap": "P10Y"}),
    # 40 CFR 63.165(b)(1), (2), (d)(2): no later than 5 calendar days after each pressure release
    "us-40cfr63.165": ("after_event", {"kinds": ["release"], "days": 5}),
    # API RP 576 5.1.1: by the performance of the devices in the particular service
    "by-history": ("by_history", {}),
}

# Not read in the text itself: editable, and each row says so.
REMEMBERED = {
    # 33 CFR 127.1407(a)(1)-(3): the three events were read; that no day is left is our reading
    "us-33cfr127.1407-event": (
        "after_event",
        {"kinds": ["alteration", "major_repair", "mawp_increase"], "days": 0},
    ),
    # API 510 6.6.2, from memory; that 10 years was the most for any device is told by API RP 576
    # 5.1.1 of an older API 510; no source for the 15
    "api510-process": ("max_gap", {"gap": "P5Y", "ceiling": "P10Y"}),
    "api510-clean": ("max_gap", {"gap": "P10Y", "ceiling": "P15Y"}),
    # NB-23 as quoted at second hand: below 400 psi by hand every 6 months and under pressure every
    # year; above, every three years
    "nbic-boiler-low": ("max_gap", {"gap": "P1Y"}),
    "nbic-boiler-low-lever": ("max_gap", {"gap": "P6M"}),
    "nbic-boiler-high": ("max_gap", {"gap": "P3Y"}),
    # NB-23, from memory
    "nbic-air": ("max_gap", {"gap": "P3Y"}),
    "nbic-steam": ("max_gap", {"gap": "P1Y"}),
    "nbic-disc-combo": ("max_gap", {"gap": "P5Y"}),
    "nbic-propane": ("max_gap", {"gap": "P5Y"}),
    "nbic-heating": ("before_use", {"lead": "P0D", "window": "P6M"}),
    "nbic-heating-lever": ("max_gap", {"gap": "P3M"}),
    # ASME OM Code Appendix I, from memory
    "om-class1": (
        "group_sample",
        {"fraction": "0.20", "window": "P24M", "gap": "P5Y", "expansion": 2, "band": "3 %"},
    ),
    "om-class2": (
        "group_sample",
        {"fraction": "0.20", "window": "P48M", "gap": "P10Y", "expansion": 2, "band": "3 %"},
    ),
}


def day(text):
    return date.fromisoformat(text)


def test_every_rule_is_there():
    assert set(rules()) == set(ALL_RULES.split()) == set(READ) | set(REMEMBERED)


@pytest.mark.parametrize(("code", "expected"), (READ | REMEMBERED).items())
def test_its_figures_are_those_of_its_section(code, expected):
    assert (rules()[code].kind, rules()[code].parameters) == expected


def test_verified_is_what_was_read_and_the_rest_says_why_not():
    assert {code for code, rule in rules().items() if rule.verified} == set(READ)
    reasons = ("memory", "second hand", "gives no number")
    for code in REMEMBERED:
        assert any(reason in rules()[code].edition for reason in reasons), code


@pytest.mark.parametrize("rule", rules().values(), ids=lambda rule: rule.id)
def test_its_example_comes_to_what_was_worked_out(rule):
    example, due = rule.example, rule.example.due(rule.shape)
    if example.answer is None:
        assert due is None
    else:
        assert due is not None
        answer = example.answer
        found = (due.due_on, due.target_on, due.limit)
        assert found == (answer.due_on, answer.target_on, answer.limit)


@pytest.mark.parametrize("rule", rules().values(), ids=lambda rule: rule.id)
def test_its_example_is_in_order_and_knows_nothing_of_later(rule):
    example = rule.example
    histories = [example.done, *example.members.values()]
    for days in (
        *histories,
        [reading.read_on for reading in example.readings],
        [trigger.happened_on for trigger in example.triggers],
    ):
        assert list(days) == sorted(days)
        assert all(each <= example.today for each in days)
    assert any(histories)
    assert bool(example.members) == (rule.kind == "group_sample")


@pytest.mark.parametrize(
    ("done", "due_on"),
    [  # NB-23 from memory: in the six months before the season; season from 1 October
        ("2024-05-10", "2025-09-30"),  # served 2024
        ("2024-03-15", "2024-09-30"),  # too early for 2024
    ],
)
def test_a_heating_season_is_served_from_six_months_before(done, due_on):
    due = rules()["nbic-heating"].shape.due([day(done)], Known(season="10-01"))
    assert (due.due_on, due.limit) == (day(due_on), "season")


def test_a_specification_60_tank_is_tested_oftener_as_it_ages():
    # 49 CFR 180.605(c)(4): 4 years, every 2 up to 12 years of service, then every year
    shape, known = rules()["us-49cfr180.605-60"].shape, Known(in_service_on=day("2010-01-01"))
    done = []
    for year in (2014, 2016, 2018, 2020, 2022, 2023, 2024, 2025):
        assert shape.due(done, known).due_on == date(year, 1, 1)
        done.append(date(year, 1, 1))


@pytest.mark.parametrize(
    ("done", "due_on"),
    [
        ("2009-12-20", "2013-12-20"),  # the original test, before it went into service
        ("2010-01-01", "2014-01-01"),  # the original test, on the day it did
        ("2013-11-01", "2015-11-01"),  # the first retest, a little early: 2 years thereafter
        ("2012-01-01", "2014-01-01"),  # long before the first 4 years are over: taken as the first
    ],
)
def test_the_first_four_years_run_from_the_original_test(done, due_on):
    # 49 CFR 180.605(c)(4): at the end of the first 4-year period after the original test; at least
    # once every 2 years thereafter
    shape, known = rules()["us-49cfr180.605-60"].shape, Known(in_service_on=day("2010-01-01"))
    assert shape.due([day(done)], known).due_on == day(due_on)


def test_a_release_calls_for_five_days_and_only_until_it_is_answered():
    # 40 CFR 63.165(b): no later than 5 calendar days after the pressure release
    shape = rules()["us-40cfr63.165"].shape
    known = Known(triggers=[Trigger("release", day("2024-02-26"))])
    assert shape.due([], known).due_on == day("2024-03-02")
    assert shape.due([day("2024-02-26")], known) is None


@pytest.mark.parametrize(
    ("code", "words", "reason"),
    [
        (
            "us-40cfr63.165",
            "within 5 days of a release",
            "5 days after the release of 2024-02-26",
        ),
        (
            "us-33cfr127.1407-event",
            "on the day of an alteration, major repair or increase of the allowed pressure",
            "on the day of the alteration, major repair or increase of the allowed pressure"
            " of 2024-08-14",
        ),
    ],
)
def test_a_rule_that_leaves_no_day_never_says_the_day_after(code, words, reason):
    rule = rules()[code]
    due = rule.example.due(rule.shape)
    assert rule.shape.words() == words
    assert rule.shape.reason(due, due.counted_from, "") == reason


@pytest.mark.parametrize(("members", "needed"), [(5, 1), (6, 2), (16, 4)])
def test_a_fifth_of_the_group_is_rounded_up(members, needed):
    # ASME OM Code Appendix I, class 1: at least 20 % in any 24 months
    assert rules()["om-class1"].shape.needed(members) == needed
