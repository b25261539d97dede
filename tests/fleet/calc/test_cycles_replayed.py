"""What is projected is what the replay answers, had the projected work been done.

The replay is proved elsewhere, against the law's own dates and day by day; here it is the oracle.
"""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.clocks import Clock, regimes
from fleet.calc.cycles import Cycle
from fleet.calc.durations import parse_duration
from fleet.calc.facts import Decision, Event, Owed, Place, Spell
from fleet.calc.intervals import AgeSteps, BeforeUse, ByHistory, Calendar, Capped, MaxGap, Rolling

ENTERED, AS_OF = date(2018, 6, 1), date(2026, 10, 31)
LENGTHS = st.sampled_from(["P6M", "P1Y", "P15M", "P30M", "P5Y"]).map(parse_duration)
SHAPES = st.one_of(
    st.builds(MaxGap, LENGTHS),
    st.builds(Calendar, st.integers(1, 3), st.sampled_from(["month", "year"]), st.just(1), LENGTHS),
    st.builds(Rolling, st.integers(2, 3), LENGTHS, LENGTHS),
    st.builds(Capped, LENGTHS, LENGTHS),
    st.builds(ByHistory),
    st.just(BeforeUse(parse_duration("P7D"), parse_duration("P2M"))),
    LENGTHS.map(lambda gap: AgeSteps(((parse_duration("P10Y"), gap), (None, gap)))),
)
DAYS = st.dates(ENTERED, AS_OF)
DECISIONS = st.lists(
    st.tuples(st.dates(date(2020, 1, 1), date(2032, 1, 1)), LENGTHS),
    max_size=2,
    unique_by=lambda pair: pair[0],
)


def first(pair):
    return pair[0]


def clock(shape, done, decided):
    owed = Owed("bench_test", shape, "done_on", None, None, None, None, "10-01", ENTERED)
    events = [Event(n, 1, None, "bench_test", day) for n, day in enumerate(done)]
    return Clock(owed, 1, [Spell(1, 1, ENTERED, None)], events, decided, [], Place())


@given(SHAPES, st.sets(DAYS, min_size=1, max_size=4), DECISIONS, st.lists(st.integers(0, 90)))
def test_each_projected_day_is_the_replay_s_due_date(shape, done, decisions, early):
    decided = [
        Decision(n, *decision, None) for n, decision in enumerate(sorted(decisions, key=first))
    ]
    cycle = Cycle(regimes(shape, decided), "10-01", ENTERED)
    history = sorted({*done, AS_OF})
    for days_early in [*early, 0, 0][:5]:
        due_on = cycle.after(history)
        if due_on is None:
            return
        asked = clock(shape, history, decided).answer(max(due_on, AS_OF))
        begun = [d.from_on for d in decided if d.from_on <= max(due_on, AS_OF)]
        assert asked.due_on is not None
        assert due_on == max(asked.due_on, history[-1] + timedelta(days=1), *begun[-1:])
        history.append(max(due_on - timedelta(days_early), history[-1] + timedelta(days=1)))
