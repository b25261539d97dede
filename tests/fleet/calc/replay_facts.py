"""Random facts of one position and its devices, always such as the database would accept."""

from datetime import date, timedelta

from hypothesis import strategies as st

from fleet.calc.duedates import Decision, Event, Owed, Spell, Standing
from fleet.calc.durations import parse_duration
from fleet.calc.intervals import ByHistory, Calendar, MaxGap
from tests.fleet.calc.replay_oracle import COUNTS, HERE, IN_PLACE

FIRST, LENGTH = date(2023, 12, 1), 150
THERE = HERE + 10
DEVICES = (1, 2, 3)

DAY = st.integers(0, LENGTH).map(lambda n: FIRST + timedelta(n))
LENGTHS = st.sampled_from(["P2D", "P9D", "P1M", "P6W", "P3M"]).map(parse_duration)
SHAPES = st.one_of(
    st.just(ByHistory()),
    LENGTHS.map(MaxGap),
    st.builds(Calendar, st.integers(1, 3), st.sampled_from(["month", "year"]), st.just(1), LENGTHS),
)
OWED = st.builds(
    Owed,
    activity=st.sampled_from([*COUNTS, "overhaul", "overhaul", "lever", "bench_test"]),
    shape=SHAPES,
    counts_from=st.sampled_from(["done_on", "installed_on", "commissioned_on"]),
    shelf_limit=st.none() | LENGTHS,
    commissioned_on=st.none() | DAY,
    from_on=st.none() | DAY,
    until_on=st.none() | DAY,
)
DECISIONS = st.lists(st.tuples(DAY, LENGTHS, st.none() | st.integers(0, 40)), max_size=4)
STANDINGS = st.lists(
    st.tuples(st.none() | DAY, st.booleans()), max_size=4, unique_by=lambda s: s[0]
)


@st.composite
def spell_lists(draw) -> list[Spell]:
    """Devices moved about, one at a time: nothing is ever in two places, no place holds two."""
    moves = draw(
        st.lists(
            st.tuples(DAY, st.sampled_from(DEVICES), st.sampled_from([HERE, HERE, THERE, None])),
            max_size=14,
        )
    )
    spells: list[Spell] = []
    for day, device, place in sorted(moves, key=lambda move: move[0]):
        spells = [
            s._replace(removed_on=day)
            if s.removed_on is None and (s.device == device or s.position == place)
            else s
            for s in spells
        ]
        if place is not None:
            spells.append(Spell(device, place, day, None))
    return [s for s in spells if s.removed_on != s.installed_on]


@st.composite
def event_lists(draw, owed: Owed) -> list[Event]:
    """Half of them count for what is owed; each is earned by a device, or in place."""
    activities = st.sampled_from(COUNTS[owed.activity]) | st.sampled_from(list(COUNTS))
    rows = draw(st.lists(st.tuples(DAY, activities, st.sampled_from(DEVICES)), max_size=12))
    numbers = draw(st.permutations(range(1, len(rows) + 1)))
    return [
        Event(number, None, draw(st.sampled_from([HERE, HERE, THERE])), activity, day)
        if activity in IN_PLACE
        else Event(number, device, None, activity, day)
        for number, (day, activity, device) in zip(numbers, rows, strict=True)
    ]


@st.composite
def decision_lists(draw) -> list[Decision]:
    return [
        Decision(n, day, interval, None if act is None else day + timedelta(act))
        for n, (day, interval, act) in enumerate(draw(DECISIONS), 1)
    ]


@st.composite
def cases(draw) -> tuple[Owed, tuple]:
    """What is owed, and the facts as `replay` takes them: spells, events, decisions, standings."""
    owed = draw(OWED)
    standings = [Standing(*row) for row in draw(STANDINGS)]
    return owed, (draw(spell_lists()), draw(event_lists(owed)), draw(decision_lists()), standings)
