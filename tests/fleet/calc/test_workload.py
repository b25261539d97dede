"""The visits of years ahead: worked by hand, and what must hold for any plant whatever."""

from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.activities import ACTIVITIES
from fleet.calc.clocks import regimes
from fleet.calc.cycles import Cycle
from fleet.calc.intervals import shape_from
from fleet.calc.loads import Load, first_day_of, hours_of, loads, month_of
from fleet.calc.workload import Outages, Place, Task, largest, on_its_dates, visits

AS_OF, END = date(2026, 10, 31), date(2036, 11, 1)
LIGHT = ("visual", "lever", "in_place_test", "capacity_review")


def gap(text):
    return Cycle(regimes(shape_from("max_gap", {"gap": text}), []))


def once_a_year():
    """49 CFR 192.739(a): each calendar year, intervals not exceeding 15 months."""
    shape = shape_from("calendar", {"times": 1, "unit": "year", "n": 1, "gap": "P15M"})
    return Cycle(regimes(shape, []))


def task(activity="bench_test", due_on="2027-06-01", cycle=None, **extra):
    day = date.fromisoformat(due_on) if due_on else None
    light = activity in LIGHT
    return Task(activity, day, cycle or gap("P5Y"), not light, **extra)


def known(days):
    """Outages on these days; the last answers two years on."""
    ordered = sorted(days)
    return Outages(ordered, ordered[-1] + timedelta(730)) if ordered else Outages()


def walked(*tasks, outages=(), end=END):
    days = known(date.fromisoformat(day) for day in outages)
    return list(visits(Place(1, 1, "spring", tasks), days, AS_OF, end))


def on(*tasks, **extra):
    return [visit.on.isoformat() for visit in walked(*tasks, **extra)]


def test_work_goes_into_the_last_outage_in_time_and_counts_from_there():
    """By hand: due 1 June 2027 goes into 1 March; 5 years later no outage is known yet."""
    assert on(task(), outages=["2027-01-10", "2027-03-01", "2027-07-01"]) == [
        "2027-03-01",
        "2032-03-01",
    ]


def test_beyond_the_known_outages_work_is_on_its_date():
    """By hand: the outage of 2027 answers two years on, not for what is due in 2031."""
    assert on(task(due_on="2031-06-01"), outages=["2027-03-01"]) == ["2031-06-01", "2036-06-01"]
    assert on(task(due_on="2029-02-28"), outages=["2027-03-01"])[0] == "2027-03-01"


def test_without_a_known_outage_it_is_done_on_its_date():
    assert on(task()) == ["2027-06-01", "2032-06-01"]


def test_an_early_visit_moves_what_follows():
    """49 CFR 192.739(a), by hand: brought forward to 10 May 2027, then 15 months bind."""
    owed = task("bench_test", "2027-12-31", once_a_year())
    found = on(owed, outages=["2027-05-10"], end=date(2031, 1, 1))
    assert found == ["2027-05-10", "2028-08-10", "2029-11-10", "2030-12-31"]
    assert on(owed, end=date(2031, 1, 1)) == [f"{year}-12-31" for year in range(2027, 2031)]


def test_an_outage_serves_only_once_and_on_its_very_day():
    found = on(task(cycle=gap("P1Y")), outages=["2027-06-01"], end=date(2029, 1, 1))
    assert found == ["2027-06-01", "2028-06-01"]


def test_overdue_work_and_work_without_a_record_go_into_the_first_outage():
    for owed in (task(due_on="2026-01-01"), task(due_on=None)):
        found = on(owed, outages=["2027-02-01", "2028-02-01"], end=date(2028, 1, 1))
        assert found == ["2027-02-01"]
        assert on(owed, end=date(2030, 1, 1)) == ["2026-10-31"]


def test_a_deferral_lets_it_wait_for_the_outage_inside_it():
    owed = task(due_on="2027-01-01", until=date(2027, 4, 1))
    assert on(owed, outages=["2027-03-01"])[0] == "2027-03-01"
    assert on(owed, outages=["2027-05-01"])[0] == "2027-01-01"
    assert on(owed, outages=["2027-01-01", "2027-03-01"])[0] == "2027-01-01"


def test_the_accepted_plan_comes_first():
    owed = task(planned_on=date(2026, 12, 1))
    assert on(owed, outages=["2027-03-01"]) == ["2026-12-01", "2031-12-01"]


def test_work_on_stream_waits_for_no_outage():
    found = on(task("visual", "2027-06-01"), outages=["2027-03-01"], end=date(2030, 1, 1))
    assert found == ["2027-06-01"]


def test_a_larger_activity_does_the_smaller_ones_and_restarts_their_clocks():
    """API RP 576 6.3 the other way round: a bench test covers the lever. By hand: levers yearly
    from June; the bench test of 1 March 2028 restarts them."""
    found = walked(
        task("lever", "2027-06-01", gap("P1Y")),
        task("bench_test", "2028-04-01", gap("P5Y")),
        outages=["2028-03-01"],
        end=date(2029, 6, 1),
    )
    assert [(v.on.isoformat(), v.activities) for v in found] == [
        ("2027-06-01", ("lever",)),
        ("2028-03-01", ("bench_test",)),
        ("2029-03-01", ("lever",)),
    ]


def test_what_falls_on_one_day_is_one_visit_at_the_hours_of_the_largest():
    found = walked(
        task("overhaul", "2027-06-01", gap("P10Y")),
        task("bench_test", "2027-06-01"),
        task("visual", "2027-06-01"),
        end=date(2028, 1, 1),
    )
    assert [visit.activities for visit in found] == [("overhaul", "visual")]
    hours = {("overhaul", ""): Decimal(9), ("bench_test", ""): Decimal(4)}
    load = loads(found, hours, LIGHT)[1, month_of(date(2027, 6, 1))]
    assert load == Load(visits=1, hours=Fraction(9), on_stream=1, missing=1)


def test_the_work_of_an_outage_is_spread_over_its_days_as_its_hours_are():
    """By hand: 4 h from 29 to 31 May and on 1 June: three quarters in May."""
    found = walked(task(), outages=["2027-05-29"], end=date(2028, 1, 1))
    hours = {("bench_test", ""): Decimal(4)}
    ends = {(1, date(2027, 5, 29)): date(2027, 6, 1)}
    may = month_of(date(2027, 5, 1))
    assert loads(found, hours, LIGHT, ends) == {
        (1, may): Load(visits=1, hours=Fraction(3)),
        (1, may + 1): Load(hours=Fraction(1)),
    }


def test_the_same_activity_under_two_rules_is_one_visit_a_cycle():
    found = on(task(cycle=gap("P2Y")), task(cycle=gap("P5Y")), end=date(2032, 1, 1))
    assert found == ["2027-06-01", "2029-06-01", "2031-06-01"]


def test_nothing_is_owed_from_its_last_day_on():
    found = on(task(cycle=gap("P1Y"), ends_on=date(2029, 6, 1)))
    assert found == ["2027-06-01", "2028-06-01"]


def test_a_visit_says_what_called_for_it():
    first, second = walked(task(), task("overhaul", None), outages=["2027-03-01"])[:2]
    assert (first.due_on, first.turn) == (None, 1)
    assert (second.due_on, second.turn) == (date(2032, 3, 1), 2)


def test_hours_are_those_of_the_kind_else_of_any_else_not_said():
    hours = {("bench_test", ""): Decimal(4), ("bench_test", "pilot"): Decimal(7)}
    assert hours_of("bench_test", "pilot", hours) == 7
    assert hours_of("bench_test", "spring", hours) == 4
    assert hours_of("overhaul", "pilot", hours) is None
    load = loads(walked(task("overhaul")), hours, LIGHT)[1, month_of(date(2027, 6, 1))]
    assert (load.visits, load.hours, load.missing) == (1, 0, 1)


def test_months_are_numbered_in_order():
    for day in (date(2026, 12, 31), date(2027, 1, 1), date(2028, 2, 29)):
        assert first_day_of(month_of(day)) == day.replace(day=1)
    assert month_of(date(2027, 1, 1)) == month_of(date(2026, 12, 1)) + 1


DAYS = st.dates(date(2025, 1, 1), date(2033, 1, 1))
GAPS = st.sampled_from(["P3M", "P1Y", "P15M", "P30M", "P5Y"])
TASKS = st.lists(
    st.builds(
        lambda activity, due_on, text: Task(activity, due_on, gap(text), activity not in LIGHT),
        st.sampled_from(ACTIVITIES),
        st.none() | DAYS,
        GAPS,
    ),
    min_size=1,
    max_size=4,
)
OUTAGES = st.lists(st.dates(AS_OF, date(2034, 1, 1)), max_size=6, unique=True).map(known)


@given(TASKS, OUTAGES)
def test_months_hold_every_visit_times_its_hours_and_no_more(tasks, outages):
    found = list(visits(Place(1, 7, "spring", tuple(tasks)), outages, AS_OF, END))
    hours = {(activity, ""): Decimal(n) for n, activity in enumerate(ACTIVITIES, 1)}
    jobs = Counter(activity for visit in found for activity in visit.activities)
    wanted = sum((hours[a, ""] * n for a, n in jobs.items() if a not in LIGHT), Decimal())
    summed = loads(found, hours, LIGHT)
    assert sum(load.hours for load in summed.values()) == wanted
    spread = loads(found, hours, LIGHT, {(7, day): day + timedelta(40) for day in outages.days})
    assert sum(load.hours for load in spread.values()) == wanted
    light = sum((hours[a, ""] * n for a, n in jobs.items() if a in LIGHT), Decimal())
    assert sum(load.on_stream_hours for load in summed.values()) == light
    assert sum(load.on_stream for load in summed.values()) == sum(jobs[a] for a in LIGHT)
    benched = sum(not set(visit.activities) <= set(LIGHT) for visit in found)
    assert sum(load.visits for load in summed.values()) == benched
    assert all(unit == 7 and AS_OF <= first_day_of(m + 1) <= END for unit, m in summed)


@given(TASKS, OUTAGES)
def test_no_visit_but_the_first_is_later_than_it_is_due(tasks, outages):
    """What is overdue already can only be late; nothing planned from then on may be."""
    found = list(visits(Place(1, 7, "spring", tuple(tasks)), outages, AS_OF, END))
    days = [visit.on for visit in found]
    assert days == sorted(set(days))  # one visit a day
    for visit in found:
        assert visit.activities == largest(frozenset(visit.activities))
        in_hand = visit.due_on is not None and visit.due_on >= AS_OF
        assert not in_hand or visit.on <= visit.due_on
        assert visit.turn == 1 or visit.due_on >= visit.on


@given(TASKS, OUTAGES)
def test_on_its_dates_every_visit_is_on_its_date(tasks, outages):
    place = on_its_dates(Place(1, 7, "spring", tuple(tasks)))
    for visit in visits(place, outages, AS_OF, END):
        assert visit.on == max(visit.due_on or AS_OF, AS_OF)


@given(st.sampled_from(ACTIVITIES), DAYS.filter(lambda day: day >= AS_OF), GAPS, OUTAGES)
def test_a_thing_alone_comes_once_a_cycle(activity, due_on, text, outages):
    """Between two visits no more time than the rule allows, and an outage is used once."""
    owed = Task(activity, due_on, gap(text), activity not in LIGHT)
    found = [v.on for v in visits(Place(1, 7, "", (owed,)), outages, AS_OF, END)]
    for earlier, later in pairwise(found):
        assert earlier < later <= owed.cycle.after([earlier])
