"""Whether planned tests keep a group's share: the share and window of class 1 of ASME OM Appendix I
(a fifth in any 24 months); the answer is counted again day by day.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.calc.quota import shortfalls
from tests.fleet.calc.group_members import CLASS_1, day, member, sound, vacant

FROM, TO = date(2026, 1, 1), date(2028, 12, 31)


def six(*tested):
    return [member(n, sound(text)) for n, text in enumerate(tested, 1)]


GROUP = six("2022-01-01", "2022-06-01", "2023-01-01", "2023-06-01", "2024-05-01", "2024-09-01")


def test_without_any_plan_it_falls_short_when_the_second_last_test_leaves():
    short = shortfalls(GROUP, {}, FROM, TO)
    assert [(s.on, s.held, s.needed, s.size) for s in short] == [
        (day("2026-05-01"), 1, 2, 6),
        (day("2026-09-01"), 0, 2, 6),
    ]
    assert short[0].next == ("M1",)
    assert short[1].next == ("M1", "M2")
    assert short[0].until == day("2026-09-01")
    assert short[1].until is None


def test_enough_planned_in_time_keeps_it():
    planned = {
        "M1": [day("2026-04-30")], "M2": [day("2026-08-31")],
        "M3": [day("2028-04-30")], "M4": [day("2028-08-31")],
    }  # fmt: skip
    assert shortfalls(GROUP, planned, FROM, TO) == []


def test_a_day_too_late_is_a_day_short():
    planned = {"M1": [day("2026-05-02")], "M2": [day("2026-08-31")]}
    (first, *_) = shortfalls(GROUP, planned, FROM, date(2027, 1, 1))
    assert (first.on, first.until) == (day("2026-05-01"), day("2026-05-02"))


def test_the_same_member_twice_counts_once():
    planned = {"M1": [day("2026-04-30"), day("2026-08-31")]}
    assert shortfalls(GROUP, planned, FROM, date(2027, 1, 1)) != []


def test_a_planned_test_where_nothing_is_fitted_counts_for_nothing():
    group = [*GROUP[1:], vacant(1)]
    planned = {"M1": [day("2026-04-30")]}
    assert shortfalls(group, planned, FROM, day("2026-06-01")) != []


@pytest.mark.parametrize(("size", "least"), [(5, 1), (6, 2), (16, 4)])
def test_the_share_is_rounded_up(size, least):
    group = [member(n, sound("2020-01-01")) for n in range(1, size + 1)]
    planned = {f"M{n}": [FROM] for n in range(1, least + 1)}
    assert shortfalls(group, planned, FROM, date(2027, 12, 31)) == []
    del planned[f"M{least}"]
    assert shortfalls(group, planned, FROM, FROM)[0].needed == least


DAYS = st.integers(0, 1000).map(lambda n: FROM + timedelta(days=n))


@given(st.lists(st.lists(DAYS, max_size=3), min_size=2, max_size=6))
@settings(max_examples=30, deadline=None)
def test_it_is_what_is_counted_on_each_day(planned):
    tested = [date(2024, 3, 1) + timedelta(days=97 * n) for n in range(len(planned))]
    group = [member(n, sound(str(on))) for n, on in enumerate(tested)]
    found = shortfalls(group, {f"M{n}": days for n, days in enumerate(planned)}, FROM, TO)
    needed = CLASS_1.needed(len(group))
    for number in range((TO - FROM).days + 1):
        now = FROM + timedelta(days=number)
        begins = [
            max(d for d in (on, *days) if d <= now)
            for on, days in zip(tested, planned, strict=True)
            if on <= now
        ]
        held = sum(now < CLASS_1.window.after(last) for last in begins)
        short = [s for s in found if s.on <= now and (s.until is None or now < s.until)]
        assert [s.held for s in short] == ([held] if held < needed else [])
