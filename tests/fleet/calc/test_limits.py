"""What a drawing shows of a rule is what its due date is made of.

The days themselves are checked against the law in the tests of each shape; here, that no limit
shown is earlier than the due date, and that the one said to bind is among them.
"""

from datetime import date

import pytest

from fleet.calc.intervals import CALENDAR, GAP, SEASON, WINDOW, Known, shape_from
from fleet.calc.library import rules
from fleet.calc.limits import TARGET, Window, limits_of, windows_of

DATED = [rule for rule in rules().values() if rule.example.answer]


@pytest.mark.parametrize("rule", DATED, ids=lambda rule: rule.id)
def test_the_earliest_limit_shown_is_the_due_date(rule):
    example = rule.example
    found = limits_of(rule.shape, example.done, example.known)
    earliest = min((limit for limit in found if limit.code != TARGET), key=lambda limit: limit.on)
    assert earliest.on == example.answer.due_on
    assert example.answer.limit in {limit.code for limit in found if limit.on == earliest.on}
    assert all(limit.from_on <= limit.on and limit.words for limit in found)


def test_both_limits_of_a_calendar_rule_are_shown():
    """49 CFR 192.739(a): each calendar year, intervals not exceeding 15 months. Done on 1 October
    2024, the year ends a day before the 15 months do."""
    found = limits_of(rules()["us-49cfr192.739"].shape, [date(2024, 10, 1)])
    days = {limit.code: limit.on for limit in found}
    assert days == {GAP: date(2026, 1, 1), CALENDAR: date(2025, 12, 31)}


def test_a_rolling_rule_shows_its_window_once_it_is_full():
    """46 CFR table 61.05-10 note 2: two in any five years, no more than three years apart."""
    shape = rules()["us-46cfr61-watertube"].shape
    assert windows_of(shape, [date(2020, 1, 1)]) == []
    found = windows_of(shape, [date(2020, 1, 1), date(2022, 11, 1)])
    assert found == [Window(date(2020, 1, 1), date(2025, 1, 1), "2 in these 5 years")]
    codes = [limit.code for limit in limits_of(shape, [date(2020, 1, 1), date(2022, 11, 1)])]
    assert codes == [GAP, WINDOW]


@pytest.mark.parametrize(
    ("lead", "opens", "closes"),
    [("P0D", date(2025, 4, 1), date(2025, 9, 30)), ("P30D", date(2025, 4, 1), date(2025, 8, 31))],
)
def test_a_season_shows_the_window_that_counts_for_it(lead, opens, closes):
    shape = shape_from("before_use", {"lead": lead, "window": "P6M"})
    known = Known(season="10-01")
    found = windows_of(shape, [date(2024, 5, 10)], known)
    assert [(window.from_on, window.to_on) for window in found] == [(opens, closes)]
    (limit,) = limits_of(shape, [date(2024, 5, 10)], known)
    assert (limit.code, limit.on) == (SEASON, closes)


def test_a_rule_without_a_date_shows_no_limit():
    assert limits_of(shape_from("by_history", {}), [date(2024, 1, 1)]) == []
    assert windows_of(shape_from("before_use", {"lead": "P0D", "window": "P6M"}), []) == []
