"""What an interval decision does to a running clock, and what it leaves alone."""

from datetime import date

from fleet.calc.library import rules
from tests.fleet.calc.test_duedates import S1, S2, decision, done, outline, spell, told

ONE, TWO = spell(S1, "2019-06-01"), spell(S2, "2023-08-01")


def test_a_decision_that_is_already_past_is_due_by_its_own_day():
    """Rule P5Y, last 2020-01-01; decision P3Y from 2023-06-01, act by 2023-09-30."""
    ruling = decision(7, "2023-06-01", "P3Y", "2023-09-30")
    spans = told([ONE], [done(1, S1, "2020-01-01")], [ruling])
    assert outline(spans)[-2:] == [("2020-01-01", "2025-01-01"), ("2023-06-01", "2023-09-30")]
    assert spans[-2].until_on == date(2023, 6, 1)  # as of 2023-05-31 the old date still holds
    assert (spans[-1].limit, spans[-1].decision) == ("act_by", 7)


def test_the_next_record_counts_from_itself_at_the_interval_decided():
    ruling = decision(7, "2023-06-01", "P3Y", "2023-09-30")
    spans = told([ONE], [done(1, S1, "2020-01-01"), done(2, S1, "2023-09-01")], [ruling])
    assert outline(spans)[-2:] == [("2023-06-01", "2023-09-30"), ("2023-09-01", "2026-09-01")]
    assert spans[-1].limit == "decision"


def test_without_an_act_by_the_interval_speaks_for_itself():
    spans = told([ONE], [done(1, S1, "2020-01-01")], [decision(7, "2023-06-01", "P3Y")])
    assert outline(spans)[-1] == ("2023-06-01", "2023-01-01")


def test_an_act_by_is_not_needed_where_the_interval_is_not_past():
    ruling = decision(7, "2023-06-01", "P4Y", "2023-09-30")
    spans = told([ONE], [done(1, S1, "2020-01-01")], [ruling])
    assert outline(spans)[-1] == ("2023-06-01", "2024-01-01")


def test_an_act_by_is_no_leave_for_a_device_fitted_later():
    ruling = decision(7, "2023-06-01", "P3Y", "2023-12-31")
    spells = [spell(S1, "2019-06-01", "2023-08-01"), TWO]
    events = [done(1, S1, "2020-01-01"), done(2, S2, "2018-01-01")]
    assert outline(told(spells, events, [ruling]))[-2:] == [
        ("2023-06-01", "2023-12-31"),
        ("2023-08-01", "2021-01-01"),
    ]


def test_an_act_by_does_not_pass_the_law_s_calendar_year():
    """49 CFR 192.739(a): at least once each calendar year, whatever the interval decided."""
    ruling = decision(7, "2024-11-01", "P3M", "2025-02-15")
    yearly = rules()["us-49cfr192.739"].shape
    spans = told([ONE], [done(1, S1, "2023-11-20")], [ruling], shape=yearly)
    assert outline(spans)[-2:] == [("2023-11-20", "2024-12-31"), ("2024-11-01", "2024-12-31")]
    assert spans[-1].limit == "calendar"


def test_the_latest_of_two_decisions_holds():
    rulings = [decision(8, "2022-01-01", "P4Y"), decision(9, "2021-01-01", "P2Y")]
    assert outline(told([ONE], [done(1, S1, "2020-01-01")], rulings))[-3:] == [
        ("2020-01-01", "2025-01-01"),
        ("2021-01-01", "2022-01-01"),
        ("2022-01-01", "2024-01-01"),
    ]
