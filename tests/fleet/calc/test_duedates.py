"""Stories of one position's clock, each a plain case of what a replay must answer."""

from datetime import date

import pytest

from fleet.calc.duedates import Decision, Event, Owed, Span, Spell, Standing, replay
from fleet.calc.durations import parse_duration
from fleet.calc.intervals import ByHistory, MaxGap
from fleet.calc.library import rules

P101, P202 = 101, 202
S1, S2, S3 = 1, 2, 3
FIVE_YEARS = MaxGap(parse_duration("P5Y"))


def day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def spell(device, installed_on, removed_on=None, position=P101) -> Spell:
    return Spell(device, position, day(installed_on), day(removed_on))


def done(number, device, done_on, activity="overhaul") -> Event:
    return Event(number, device, None, activity, day(done_on))


def seen(number, done_on, activity="visual", position=P101) -> Event:
    return Event(number, None, position, activity, day(done_on))


def decision(number, from_on, interval, act_by=None) -> Decision:
    return Decision(number, day(from_on), parse_duration(interval), day(act_by))


def told(
    spells,
    events,
    decisions=(),
    standings=(),
    activity="overhaul",
    shape=FIVE_YEARS,
    counts_from="done_on",
    shelf_limit=None,
    commissioned_on=None,
    from_on=None,
    until_on=None,
) -> list[Span]:
    limit = parse_duration(shelf_limit) if shelf_limit else None
    owed = Owed(
        activity, shape, counts_from, limit, day(commissioned_on), day(from_on), day(until_on)
    )
    return replay(owed, P101, spells, events, decisions, standings)


def outline(spans: list[Span]) -> list[tuple[str, str]]:
    """From when: the due date, or the state where there is none."""
    first = str(date.min)
    return [
        (str(span.from_on).replace(first, "always"), str(span.due_on or span.state))
        for span in spans
    ]


def test_a_device_brings_its_own_record_and_the_clock_runs_on_what_is_fitted():
    """S1 leaves 101, spare S2 goes in, S1 is overhauled a month later with 101 on its sheet."""
    spells = [spell(S1, "2015-01-01", "2020-03-01"), spell(S2, "2020-03-01")]
    events = [
        done(1, S1, "2014-11-01"),
        done(2, S2, "2019-12-01"),
        done(3, S1, "2020-04-01"),
    ]
    spans = told(spells, events)
    assert outline(spans) == [
        ("always", "no_device"),
        ("2015-01-01", "2019-11-01"),
        ("2020-03-01", "2024-12-01"),
    ]
    assert spans[-1] == Span(
        date(2020, 3, 1),
        None,
        "dated",
        date(2024, 12, 1),
        None,
        date(2019, 12, 1),
        2,
        None,
        "gap",
        S2,
    )


def test_a_shop_overhaul_counts_wherever_the_device_is_fitted_next():
    elsewhere = spell(S1, "2016-01-01", "2019-01-01", position=P202)
    events = [done(1, S1, "2015-06-01"), done(2, S1, "2019-02-01"), done(3, S1, "2023-01-01")]
    assert outline(told([elsewhere, spell(S1, "2019-06-01")], events)) == [
        ("always", "no_device"),
        ("2019-06-01", "2024-02-01"),
        ("2023-01-01", "2028-01-01"),
    ]


def test_an_untested_device_has_no_record_and_never_the_old_date():
    spells = [spell(S1, "2015-01-01", "2020-03-01"), spell(S2, "2020-03-01")]
    assert outline(told(spells, [done(1, S1, "2015-01-01")]))[-1] == ("2020-03-01", "no_record")


def test_an_empty_position_has_no_device_until_it_is_refitted():
    spells = [spell(S1, "2015-01-01", "2020-03-01"), spell(S1, "2020-05-01")]
    assert outline(told(spells, [done(1, S1, "2015-01-01")]))[1:] == [
        ("2015-01-01", "2020-01-01"),
        ("2020-03-01", "no_device"),
        ("2020-05-01", "2020-01-01"),
    ]


def test_out_and_in_on_one_day_leaves_no_gap():
    spells = [spell(S2, "2020-03-01"), spell(S1, "2015-01-01", "2020-03-01")]
    events = [done(1, S1, "2015-01-01"), done(2, S2, "2020-03-01")]
    assert outline(told(spells, events))[1:] == [
        ("2015-01-01", "2020-01-01"),
        ("2020-03-01", "2025-03-01"),
    ]


# What each activity satisfies; that a test in place never stands for a bench test: API RP 576 6.3
@pytest.mark.parametrize(
    ("activity", "counted"),
    [
        ("lever", ["lever", "in_place_test", "bench_test", "overhaul"]),
        ("in_place_test", ["in_place_test", "bench_test", "overhaul"]),
        ("bench_test", ["bench_test", "overhaul"]),
        ("overhaul", ["overhaul"]),
        ("disc_change", ["disc_change"]),
    ],
)
def test_what_is_done_satisfies_what_it_contains(activity, counted):
    everything = ["lever", "in_place_test", "bench_test", "overhaul", "disc_change"]
    dated = [
        name
        for name in everything
        if told([spell(S1, "2015-01-01")], [done(1, S1, "2016-01-01", name)], activity=activity)[
            -1
        ].due_on
    ]
    assert dated == counted


def test_what_is_earned_in_place_stays_with_the_position():
    spells = [spell(S1, "2015-01-01", "2018-01-01"), spell(S2, "2018-02-01")]
    events = [seen(1, "2016-01-01"), done(2, S2, "2017-06-01"), seen(3, "2019-01-01", "lever")]
    assert outline(told(spells, events, activity="visual")) == [
        ("always", "no_device"),
        ("2015-01-01", "no_record"),
        ("2016-01-01", "2021-01-01"),
        ("2018-01-01", "no_device"),
        ("2018-02-01", "2021-01-01"),
    ]


def test_a_fitting_is_a_replacement():
    spells = [spell(S1, "2015-01-01", "2018-01-01"), spell(S2, "2018-02-01")]
    spans = told(spells, [seen(1, "2016-01-01", "replacement")], activity="replacement")
    assert outline(spans)[1:] == [
        ("2015-01-01", "2020-01-01"),
        ("2016-01-01", "2021-01-01"),
        ("2018-01-01", "no_device"),
        ("2018-02-01", "2023-02-01"),
    ]


def test_it_may_count_from_the_day_it_entered_service():
    spells = [spell(S1, "2015-03-01", "2019-01-01"), spell(S1, "2019-09-01")]
    events = [done(1, S1, "2014-11-01"), done(2, S1, "2017-01-01"), done(3, S1, "2019-02-01")]
    assert outline(told(spells, events, counts_from="installed_on"))[1:] == [
        ("2015-03-01", "2020-03-01"),
        ("2017-01-01", "2022-01-01"),
        ("2019-01-01", "no_device"),
        ("2019-09-01", "2024-09-01"),
    ]


def test_a_test_too_long_on_the_shelf_is_no_record_until_the_next():
    spells, events = [spell(S1, "2015-03-01")], [done(1, S1, "2014-02-28")]
    shelved = told(spells, events, counts_from="installed_on", shelf_limit="P1Y")[-1]
    assert (shelved.state, shelved.limit, shelved.due_on) == ("no_record", "shelf", None)
    assert (shelved.event, shelved.last_on) == (1, date(2014, 2, 28))
    to_the_day = [done(1, S1, "2014-03-01")]
    kept = told(spells, to_the_day, counts_from="installed_on", shelf_limit="P1Y")
    assert outline(kept)[-1] == ("2015-03-01", "2020-03-01")
    tested = [*events, done(2, S1, "2015-04-01")]
    again = told(spells, tested, counts_from="installed_on", shelf_limit="P1Y")
    assert outline(again)[1:] == [("2015-03-01", "no_record"), ("2015-04-01", "2020-04-01")]


def test_a_commissioning_stands_in_for_the_first_record_of_the_first_device_alone():
    spells = [spell(S1, "2015-01-01", "2018-01-01"), spell(S2, "2018-01-01")]
    spans = told(
        spells,
        [done(1, S1, "2016-05-01")],
        counts_from="commissioned_on",
        commissioned_on="2015-02-01",
    )
    assert outline(spans)[1:] == [
        ("2015-01-01", "no_record"),
        ("2015-02-01", "2020-02-01"),
        ("2016-05-01", "2021-05-01"),
        ("2018-01-01", "no_record"),
    ]


def test_a_rule_by_history_waits_for_its_decision():
    spells, events = [spell(S1, "2015-01-01")], [done(1, S1, "2016-01-01")]
    spans = told(spells, events, [decision(1, "2017-01-01", "P3Y")], shape=ByHistory())
    assert outline(spans)[1:] == [
        ("2015-01-01", "no_record"),
        ("2016-01-01", "interval_not_set"),
        ("2017-01-01", "2019-01-01"),
    ]
    assert (spans[-1].decision, spans[-1].limit) == (1, "decision")


def test_nothing_is_required_where_the_position_is_out_of_service():
    spans = told(
        [spell(S1, "2015-01-01")],
        [done(1, S1, "2015-01-01")],
        standings=[
            Standing(None, True),
            Standing(day("2016-01-01"), False),
            Standing(day("2017-01-01"), True),
        ],
    )
    assert outline(spans)[1:] == [
        ("2015-01-01", "2020-01-01"),
        ("2016-01-01", "not_required"),
        ("2017-01-01", "2020-01-01"),
    ]


def test_the_spans_cover_exactly_the_days_it_was_owed():
    spells, events = [spell(S1, "2015-01-01")], [done(1, S1, "2015-01-01")]
    (span,) = told(spells, events, from_on="2016-01-01", until_on="2017-01-01")
    assert (span.from_on, span.until_on) == (date(2016, 1, 1), date(2017, 1, 1))
    assert span.due_on == date(2020, 1, 1)


# 49 CFR 195.428(a): twice each calendar year, and two records of one day are one test
def test_two_records_of_one_day_are_one_test():
    spells = [spell(S1, "2020-01-01")]
    events = [done(1, S1, "2024-06-01"), done(2, S1, "2024-06-01")]
    hvl = rules()["us-49cfr195.428-hvl"].shape
    span = told(spells, events, shape=hvl)[-1]
    assert (span.due_on, span.limit, span.event) == (date(2024, 12, 31), "calendar", 2)


def test_a_test_the_shelf_took_is_not_one_of_the_two_of_its_year():
    events = [done(1, S1, "2023-01-01"), done(2, S1, "2024-06-01")]
    hvl = rules()["us-49cfr195.428-hvl"].shape
    spans = told(
        [spell(S1, "2024-05-01")],
        events,
        shape=hvl,
        counts_from="installed_on",
        shelf_limit="P1Y",
    )
    assert outline(spans)[1:] == [("2024-05-01", "no_record"), ("2024-06-01", "2024-12-31")]
