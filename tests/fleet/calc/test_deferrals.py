"""How far a due date may be passed, by each policy, and what breaks it.

Sources: API 510, 11th edition, 6.7 (from memory): the lesser of 10 % of the interval and six
months; UK Pressure Systems Safety Regulations 2000, regulation 9(7) (from memory): one postponement
for any one examination, notified before the date; ASME OM Code Case OMN-20: 25 % of a test interval
under two years, six months of a longer one, not for repeated convenience.
"""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.deferrals import POLICIES, Leave, Term, breaches, limit
from fleet.calc.durations import parse_duration

LAST, DUE = date(2020, 1, 1), date(2025, 1, 1)
TERMS = [Term(LAST, None, LAST, DUE)]
DAYS = st.dates(date(1960, 1, 1), date(2160, 12, 31))
GAPS = st.integers(1, 4000)


@pytest.mark.parametrize(
    ("policy", "last_on", "due_on", "latest", "binds"),
    [
        # P5Y: 1827 days, a tenth is 182, which would be 2 July; six months end a day before
        ("simple", LAST, DUE, date(2025, 7, 1), "6 months"),
        # P1Y: 365 days
        ("simple", date(2023, 1, 1), date(2024, 1, 1), date(2024, 2, 6), "36 days"),
        # P92D: 23 days
        ("test_period", date(2024, 1, 1), date(2024, 4, 2), date(2024, 4, 25), "23 days"),
        # two years is no longer under two years
        ("test_period", date(2022, 3, 1), date(2024, 3, 1), date(2024, 9, 1), "6 months"),
        ("test_period", date(2022, 3, 2), date(2024, 3, 1), date(2024, 8, 30), "182 days"),
        # the month's end clamps
        ("simple", date(2014, 8, 31), date(2024, 8, 31), date(2025, 2, 28), "6 months"),
        # a tenth of nine days is no day
        ("simple", date(2024, 1, 1), date(2024, 1, 10), date(2024, 1, 10), "0 days"),
        ("assessed", LAST, DUE, None, "risk assessment"),
        ("single_postponement", LAST, DUE, None, "in writing"),
    ],
)
def test_the_last_day_a_policy_allows(policy, last_on, due_on, latest, binds):
    found = limit(policy, last_on, due_on)
    assert found.until_on == latest and binds in found.words


@given(DAYS, GAPS)
def test_a_simple_deferral_is_never_later_than_either_limit(last_on, days):
    due_on = last_on + timedelta(days=days)
    until_on = limit("simple", last_on, due_on).until_on
    tenth = due_on + timedelta(days=Fraction(days, 10).__floor__())
    half_year = parse_duration("P6M").after(due_on)
    assert due_on <= until_on <= tenth and until_on <= half_year
    assert until_on in (tenth, half_year)


@given(DAYS, GAPS)
def test_a_test_period_is_a_quarter_or_half_a_year(last_on, days):
    due_on = last_on + timedelta(days=days)
    until_on = limit("test_period", last_on, due_on).until_on
    if due_on < parse_duration("P2Y").after(last_on):
        assert until_on == due_on + timedelta(days=days // 4)
    else:
        assert until_on == parse_duration("P6M").after(due_on)


@given(DAYS, GAPS, st.sampled_from(["simple", "test_period"]), st.integers(1, 2000))
def test_one_day_past_the_latest_is_a_breach_and_the_latest_is_none(last_on, days, policy, more):
    due_on = last_on + timedelta(days=days)
    latest = limit(policy, last_on, due_on).until_on
    terms = [Term(last_on, None, last_on, due_on)]
    past = breaches(Leave(policy, due_on, latest + timedelta(days=more), due_on), terms, [])
    assert [breach.code for breach in past] == ["past_latest_day"]
    if latest > due_on:
        assert breaches(Leave(policy, due_on, latest, due_on), terms, []) == []


def asked(policy="simple", until_on=date(2025, 3, 1), on=date(2024, 12, 1), due_on=DUE, **given):
    return Leave(policy, due_on, until_on, on, **given)


PAPERS = {"document": "RA-1", "interim_measure": "weekly check", "notified_on": date(2024, 12, 1)}


@pytest.mark.parametrize("policy", POLICIES)
def test_what_keeps_to_its_policy_breaks_nothing(policy):
    assert breaches(asked(policy, **PAPERS), TERMS, []) == []


@pytest.mark.parametrize(
    ("leave", "field", "code"),
    [
        (asked(on=date(2025, 1, 2)), "on", "late_approval"),
        (asked(until_on=date(2025, 7, 2)), "until_on", "past_latest_day"),
        (asked(until_on=DUE), "until_on", "ends_before_due"),
        (asked("assessed", interim_measure="x"), "document", "document_missing"),
        (asked("assessed", document="x"), "interim_measure", "measure_missing"),
        (asked("single_postponement", document="x"), "notified_on", "notice_missing"),
        (asked("single_postponement", document="x", notified_on=DUE), "notified_on",
         "notice_missing"),
        (asked("single_postponement", notified_on=date(2024, 12, 31)), "document",
         "document_missing"),
        (asked("test_period", until_on=date(2025, 7, 2)), "until_on", "past_latest_day"),
    ],
)  # fmt: skip
def test_each_breach_names_its_field_and_its_source(leave, field, code):
    [breach] = breaches(leave, TERMS, [])
    assert (breach.field, breach.code) == (field, code)
    assert code == "ends_before_due" or POLICIES[leave.policy].source in breach.words


def test_leave_recorded_on_the_due_date_itself_is_in_time():
    assert breaches(asked(on=DUE), TERMS, []) == []


def codes(leave, terms, *others):
    return [breach.code for breach in breaches(leave, terms, others)]


MOVED = [Term(LAST, date(2023, 6, 1), LAST, DUE), Term(date(2023, 6, 1), None, LAST,
                                                       date(2023, 9, 30))]  # fmt: skip


@pytest.mark.parametrize("policy", ["simple", "single_postponement"])
def test_a_second_of_one_due_cycle_is_one_too_many(policy):
    """A decision has moved the due date; nothing was done between, so the cycle is the same."""
    first = asked(policy, on=date(2023, 5, 1), **PAPERS)
    second = asked(policy, date(2023, 10, 1), date(2023, 9, 1), date(2023, 9, 30),
                   **PAPERS | {"notified_on": date(2023, 9, 1)})  # fmt: skip
    assert codes(second, MOVED, first) == ["repeated"]
    assert codes(first, MOVED, second) == []  # it came before


def test_a_deferral_of_the_day_another_ends_is_a_second_one():
    """A chain: the day it passes is no due date, and the cycle is that of the day itself."""
    first, chained = asked(), asked(due_on=date(2025, 3, 1), until_on=date(2025, 4, 1),
                                    on=date(2025, 2, 1))  # fmt: skip
    assert codes(chained, TERMS, first) == ["repeated"]


def test_a_second_assessed_deferral_is_no_breach():
    first = asked("assessed", on=date(2023, 5, 1), **PAPERS)
    second = asked("assessed", date(2023, 10, 9), date(2023, 9, 1), date(2023, 9, 30), **PAPERS)
    assert codes(second, MOVED, first) == []


def quarters(done_on):
    """Every 92 days; the second test was done on `done_on`, the first due on 2024-04-02."""
    first, second = date(2024, 1, 1), done_on
    return [Term(first, second, first, date(2024, 4, 2)),
            Term(second, None, second, second + timedelta(days=92))]  # fmt: skip


def test_a_test_period_is_not_extended_twice_running():
    terms = quarters(date(2024, 4, 20))
    first = asked("test_period", date(2024, 4, 25), date(2024, 3, 1), date(2024, 4, 2))
    due_on = terms[1].due_on
    second = asked("test_period", due_on + timedelta(days=1), due_on, due_on)
    assert codes(second, terms, first) == ["repeated"]


def test_leave_that_was_not_needed_does_not_count_against_the_next():
    """It was done on its due date after all."""
    terms = quarters(date(2024, 4, 2))
    first = asked("test_period", date(2024, 4, 25), date(2024, 3, 1), date(2024, 4, 2))
    due_on = terms[1].due_on
    second = asked("test_period", due_on + timedelta(days=1), due_on, due_on)
    assert codes(second, terms, first) == []


def test_a_simple_deferral_of_the_next_cycle_is_another_first():
    terms = quarters(date(2024, 4, 5))
    first = asked("simple", date(2024, 4, 10), date(2024, 3, 1), date(2024, 4, 2))
    due_on = terms[1].due_on
    second = asked("simple", due_on + timedelta(days=9), due_on, due_on)
    assert codes(second, terms, first) == []


def test_what_no_due_date_stands_behind_has_no_computed_limit():
    assert codes(asked(until_on=date(2035, 1, 1)), []) == []
