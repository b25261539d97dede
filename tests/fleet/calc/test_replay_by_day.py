"""Replay against a slow oracle, day by day, and what must hold whatever the facts."""

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.calc.duedates import Place, Span, replay
from tests.fleet.calc.replay_facts import DAY, FIRST, LENGTH, cases, event_lists
from tests.fleet.calc.replay_oracle import HERE, oracle


def days_around() -> Iterator[date]:
    yield date.min
    for n in range(-3, LENGTH + 60):
        yield FIRST + timedelta(n)


def holding(spans: list[Span], day: date) -> Span | None:
    (found,) = [
        s for s in spans if s.from_on <= day and (s.until_on is None or day < s.until_on)
    ] or [None]
    return found


@settings(max_examples=1000, deadline=None)
@given(case=cases())
def test_replay_says_of_every_day_what_the_oracle_says(case):
    owed, facts = case
    spans = replay(owed, HERE, *facts)
    for day in days_around():
        span = holding(spans, day)
        if day < (owed.from_on or date.min) or day >= (owed.until_on or date.max):
            assert span is None
            continue
        got = (span.state, span.due_on, span.last_on, span.event, span.decision, span.limit)
        assert (*got, span.device) == oracle(owed, *facts, day), day


@given(case=cases())
def test_spans_are_contiguous_merged_and_cover_what_is_owed(case):
    owed, facts = case
    spans = replay(owed, HERE, *facts)
    if not spans:
        assert owed.until_on is not None and (owed.from_on or date.min) >= owed.until_on
        return
    assert spans[0].from_on == (owed.from_on or date.min)
    assert spans[-1].until_on == owed.until_on
    for before, after in pairwise(spans):
        assert before.until_on == after.from_on
        assert before[2:] != after[2:]


@given(case=cases(), random=st.randoms(use_true_random=False))
def test_the_order_of_the_facts_changes_nothing(case, random):
    owed, facts = case
    *rows, place = facts
    shuffled = [random.sample(some, len(some)) for some in rows]
    shuffled.append(Place(*(random.sample(some, len(some)) for some in place)))
    assert replay(owed, HERE, *shuffled) == replay(owed, HERE, *facts)


@given(case=cases(), data=st.data())
def test_a_late_record_and_its_removal_restore_the_answer(case, data):
    owed, facts = case
    spells, events, *rest = facts
    late = [e._replace(id=e.id + 100) for e in data.draw(event_lists(owed))]
    before = replay(owed, HERE, *facts)
    added = replay(owed, HERE, spells, [*events, *late], *rest)
    first = min((e.done_on for e in late), default=date.max)
    untouched = [s for s in before if s.until_on and s.until_on <= first]
    assert added[: len(untouched)] == untouched  # no day before the record changes
    kept = [e for e in [*late, *events] if e.id <= 100]
    assert replay(owed, HERE, spells, kept, *rest) == before


@given(case=cases(), cut=DAY)
def test_facts_after_a_day_change_no_answer_up_to_it(case, cut):
    owed, facts = case
    spells, events, decisions, standings, place = facts
    known = (
        [
            s._replace(removed_on=s.removed_on if s.removed_on and s.removed_on <= cut else None)
            for s in spells
            if s.installed_on <= cut
        ],
        [e for e in events if e.done_on <= cut],
        [d for d in decisions if d.from_on <= cut],
        [s for s in standings if (s.from_on or date.min) <= cut],
        Place(
            [
                i._replace(to_on=i.to_on if i.to_on and i.to_on <= cut else None)
                for i in place.idles
                if i.from_on <= cut
            ],
            [r for r in place.readings if r.read_on <= cut],
            [t for t in place.triggers if t.happened_on <= cut],
        ),
    )
    then, now = replay(owed, HERE, *known), replay(owed, HERE, *facts)
    for n in range(0, (cut - FIRST).days + 1, 3):
        day = FIRST + timedelta(n)
        one, other = holding(then, day), holding(now, day)
        assert (one and one[2:]) == (other and other[2:])
