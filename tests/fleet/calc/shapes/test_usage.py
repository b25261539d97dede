"""So much use by a counter: the readings give the day, exactly.

49 CFR 230.50: 92 service days. The readings and dates are worked by hand, line by line.
"""

from datetime import date, timedelta
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.intervals import COUNT, PROJECTED, Due, Known, Reading, shape_from
from tests.fleet.calc.shapes.given import day, days, read

LOCOMOTIVE = shape_from("usage", {"counter": "service_days", "count": 92})


@pytest.mark.parametrize(
    ("readings", "due_on", "limit"),
    [
        # in use every day: 10 + 92 = 102 is 92 days on; as P92D from 2024-01-01 gives
        ([("2024-01-01", 10), ("2024-02-01", 41)], "2024-04-02", PROJECTED),
        # every other day (30 days, 15 of them in service): 92 x 2 = 184 days on
        ([("2024-01-01", 0), ("2024-01-31", 15)], "2024-07-03", PROJECTED),
        # two of three days (30 days, 20): 92 x 3/2 = 138 days on
        ([("2024-01-01", 0), ("2024-01-31", 20)], "2024-05-18", PROJECTED),
        # three of seven days: 92 x 7/3 = 214 2/3 days on, so 214
        ([("2024-01-01", 0), ("2024-01-29", 12)], "2024-08-02", PROJECTED),
        # read before the test: what the counter has run since then counts
        ([("2023-12-01", 0), ("2024-01-31", 61)], "2024-03-02", PROJECTED),
        # the newest reading alone gives the rate, not those between: 20 in 40 days
        ([("2024-01-01", 0), ("2024-01-11", 10), ("2024-02-10", 20)], "2024-07-03", PROJECTED),
        # none newer: the rate before it (31 days, 31), from the value on the test's own day
        ([("2023-12-01", 0), ("2024-01-01", 31)], "2024-04-02", PROJECTED),
        # reached between two readings: 80 to 100 in 20 days, 12 days to 92
        ([("2024-01-01", 0), ("2024-04-01", 80), ("2024-04-21", 100)], "2024-04-13", COUNT),
        # a reading that stands at the number to the day
        ([("2024-01-01", 0), ("2024-04-01", 80), ("2024-04-21", 92)], "2024-04-21", COUNT),
        # reached long ago: what came after changes nothing
        (
            [("2024-01-01", 0), ("2024-04-01", 80), ("2024-04-21", 100), ("2024-09-01", 101)],
            "2024-04-13",
            COUNT,
        ),
        # a counter read in halves
        ([("2024-01-01", "0.5"), ("2024-01-03", "46.5")], "2024-01-05", PROJECTED),
    ],
)
def test_the_day_on_which_the_counter_gets_there(readings, due_on, limit):
    assert LOCOMOTIVE.due(days("2024-01-01"), read(*readings)) == Due(day(due_on), None, limit)


@pytest.mark.parametrize(
    "readings",
    [
        [],
        [("2024-01-02", 10), ("2024-02-01", 41)],  # what it stood at on the test is not known
        [("2024-01-01", 10)],  # one reading gives no rate
        [("2024-01-01", 10), ("2024-02-01", 10)],  # it stood still
        [("2023-12-01", 10), ("2024-01-01", 10)],
        [("2023-06-01", 0), ("2023-12-01", 10), ("2024-06-01", 10)],  # still since the test
        [("2024-01-01", 0), ("2104-01-01", 1)],  # further than anything is projected
    ],
)
def test_no_date_is_guessed_where_the_readings_give_none(readings):
    assert LOCOMOTIVE.due(days("2024-01-01"), read(*readings)) is None
    assert "service days do not say when 92 more are reached" in LOCOMOTIVE.undated()


def test_another_counter_says_nothing():
    own = read(("2024-01-01", 0), ("2024-02-01", 31)).readings
    other = read(("2024-01-15", 5000), ("2024-01-20", 9000), counter="starts").readings
    both = Known(readings=sorted([*own, *other], key=lambda reading: reading.read_on))
    assert LOCOMOTIVE.due(days("2024-01-01"), both) == LOCOMOTIVE.due(
        days("2024-01-01"), Known(readings=own)
    )
    assert LOCOMOTIVE.due(days("2024-01-01"), Known(readings=other)) is None


def test_the_last_time_counts_and_not_the_first():
    known = read(("2023-01-01", 0), ("2024-01-01", 200), ("2024-02-01", 231))
    assert LOCOMOTIVE.due(days("2023-01-01", "2024-01-01"), known).due_on == day("2024-04-02")


def test_it_is_never_due_before_it_was_last_done():
    """Long unread before the test: the use since that reading counts, though not past the test."""
    known = read(("2024-01-01", 0), ("2024-12-31", 365))
    assert LOCOMOTIVE.due(days("2024-10-01"), known) == Due(day("2024-10-01"), None, COUNT)


LOGS = st.lists(
    st.tuples(st.integers(1, 90), st.integers(0, 4000)), min_size=2, max_size=8
)  # days and quarters of a unit since the reading before


def logged(steps) -> list[Reading]:
    on, value, readings = date(2020, 1, 1), Fraction(0), []
    for more_days, quarters in steps:
        on, value = on + timedelta(more_days), value + Fraction(quarters, 4)
        readings.append(Reading("hours", on, value))
    return readings


def is_past_two_centuries(readings, goal) -> bool:
    first, newest = readings[0], readings[-1]
    rate = (newest.value - first.value) / (newest.read_on - first.read_on).days
    return first.value + rate * 200 * 366 < goal


@given(steps=LOGS, at=st.integers(0, 7), count=st.integers(1, 3000))
def test_it_is_the_last_day_on_which_the_line_is_not_past_the_number(steps, at, count):
    """Against the straight line itself, asked for its value on the day and on the next."""
    shape = shape_from("usage", {"counter": "hours", "count": count})
    readings = logged(steps)
    last = readings[min(at, len(readings) - 1)].read_on
    due = shape.due([last], Known(readings=readings))
    base = next(reading for reading in readings if reading.read_on == last)
    if due is None:
        at, goal = readings.index(base), base.value + count
        assert readings[-1].value < goal
        pair = readings[at:] if readings[-1] is not base else readings[at - 1 :] if at else []
        assert not pair or pair[0].value == pair[-1].value or is_past_two_centuries(pair, goal)
        return
    assert due.due_on >= last
    if due.limit == COUNT:
        reached = next(r for r in readings if r.read_on >= last and r.value >= base.value + count)
        ahead = readings[readings.index(reached) - 1]
    else:
        assert readings[-1].value < base.value + count
        ahead = base if readings[-1] is not base else readings[readings.index(base) - 1]
        reached = readings[-1]
    rate = (reached.value - ahead.value) / (reached.read_on - ahead.read_on).days

    def stands(on: date) -> Fraction:
        return ahead.value + rate * (on - ahead.read_on).days

    assert stands(due.due_on) <= base.value + count < stands(due.due_on + timedelta(1))


@given(steps=LOGS, at=st.integers(0, 7), seed=st.integers(0, 99))
def test_the_order_of_the_readings_does_not_matter(steps, at, seed):
    shape = shape_from("usage", {"counter": "hours", "count": 500})
    readings = logged(steps)
    last = readings[min(at, len(readings) - 1)].read_on
    shuffled = readings[:]
    Random(seed).shuffle(shuffled)
    assert shape.due([last], Known(readings=shuffled)) == shape.due(
        [last], Known(readings=readings)
    )


@given(
    daily=st.integers(1, 24),
    first=st.integers(0, 300),
    later=st.integers(0, 300),
    months=st.integers(1, 9),
)
def test_at_a_steady_pace_a_later_last_time_is_never_due_earlier(daily, first, later, months):
    """A pace that changes gives another projection: then it may."""
    readings = [
        Reading("hours", date(2020, 1, 1) + timedelta(30 * i), Fraction(30 * i * daily))
        for i in range(months + 1)
    ]
    shape, known = shape_from("usage", {"counter": "hours", "count": 500}), Known(readings=readings)
    due = shape.due([date(2020, 1, 1) + timedelta(first)], known)
    moved = shape.due([date(2020, 1, 1) + timedelta(first + later)], known)
    assert due is not None and moved is not None and moved.due_on >= due.due_on


def test_the_reason_says_whether_it_is_projected():
    last, own = day("2024-01-01"), "92 service days after 2024-01-01, "
    projected, reached = Due(last, None, PROJECTED), Due(last, None, COUNT)
    assert LOCOMOTIVE.reason(projected, last, "49 CFR 230.50") == (
        f"{own}projected from the logged readings (49 CFR 230.50)"
    )
    assert LOCOMOTIVE.reason(reached, last, "") == f"{own}by the counter"
    assert LOCOMOTIVE.words() == "every 92 service days by its counter"
