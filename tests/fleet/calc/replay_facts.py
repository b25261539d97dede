"""Random facts of one position and its devices, always such as the database would accept."""

from datetime import date, timedelta

from hypothesis import strategies as st

from fleet.calc.duedates import (
    Decision,
    Event,
    Idle,
    Owed,
    Place,
    Reading,
    Spell,
    Standing,
    Trigger,
)
from fleet.calc.durations import parse_duration
from fleet.calc.intervals import (
    AfterEvent,
    AgeSteps,
    BeforeUse,
    ByHistory,
    Calendar,
    Capped,
    MaxGap,
    Rolling,
    Usage,
)
from tests.fleet.calc.replay_oracle import COUNTS, HERE, IN_PLACE

FIRST, LENGTH = date(2023, 12, 1), 150
THERE = HERE + 10
DEVICES = (1, 2, 3)

DAY = st.integers(0, LENGTH).map(lambda n: FIRST + timedelta(n))
LENGTHS = st.sampled_from(["P2D", "P9D", "P1M", "P6W", "P3M"]).map(parse_duration)
OUT = st.sampled_from(["stop", "run", "test_before_return"])
SHAPES = st.one_of(
    st.builds(ByHistory, out_of_service=OUT),
    st.builds(MaxGap, LENGTHS, out_of_service=OUT),
    st.builds(Calendar, st.integers(1, 3), st.sampled_from(["month", "year"]), st.just(1), LENGTHS),
    st.builds(Rolling, st.integers(2, 3), LENGTHS, LENGTHS, out_of_service=OUT),
    st.builds(Capped, LENGTHS, LENGTHS, out_of_service=OUT),
    st.builds(AfterEvent, st.just(("release", "alteration")), st.integers(0, 30)),
    st.builds(BeforeUse, LENGTHS, LENGTHS, out_of_service=OUT),
    st.builds(Usage, st.just("starts"), st.integers(1, 60)),
    LENGTHS.map(lambda gap: AgeSteps(((gap, gap), (None, parse_duration("P9D"))))),
)
LENGTHENED = (ByHistory, MaxGap, Calendar, Rolling)  # whose interval a decision replaces alone
OWED = st.builds(
    Owed,
    activity=st.sampled_from([*COUNTS, "overhaul", "overhaul", "lever", "bench_test"]),
    shape=SHAPES,
    counts_from=st.sampled_from(["done_on", "installed_on", "commissioned_on"]),
    shelf_limit=st.none() | LENGTHS,
    commissioned_on=st.none() | DAY,
    from_on=st.none() | DAY,
    until_on=st.none() | DAY,
    season=st.sampled_from(["", "01-15", "03-01"]),
    in_service_on=st.none() | DAY,
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
def places(draw) -> Place:
    """What happened beside the work: the counter never runs back, the rest as it comes."""
    steps = sorted(draw(st.sets(DAY, max_size=5)))
    values = sorted(draw(st.lists(st.fractions(0, 99, max_denominator=4), min_size=5, max_size=5)))
    idles = draw(st.lists(st.tuples(DAY, st.none() | st.integers(1, 60)), max_size=3))
    kinds = st.sampled_from(["release", "alteration", "irregularity"])
    return Place(
        [Idle(on, None if days is None else on + timedelta(days)) for on, days in idles],
        [Reading("starts", on, value) for on, value in zip(steps, values, strict=False)],
        [Trigger(kind, on) for kind, on in draw(st.sets(st.tuples(kinds, DAY), max_size=4))],
    )


@st.composite
def cases(draw) -> tuple[Owed, tuple]:
    """What is owed, and the facts as `replay` takes them: spells, events, decisions, standings,
    and what happened at the place."""
    owed = draw(OWED)
    standings = [Standing(*row) for row in draw(STANDINGS)]
    decided = draw(decision_lists()) if isinstance(owed.shape, LENGTHENED) else []
    events = draw(event_lists(owed))
    return owed, (draw(spell_lists()), events, decided, standings, draw(places()))
