"""Group sampling: members owe for each other, so the group is replayed as one.

In every window of the rule's length at least a fraction of the members is tested; the shortfall
falls on those longest untested. A failure pulls in more of them at once, and a failure among those
the whole group. Pure, and no answer depends on a fact dated after its day.
"""

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Hashable, Sequence
from datetime import date
from typing import NamedTuple

from fleet.calc.clocks import DATED, NO_DEVICE, NO_RECORD, Answer, Clock
from fleet.calc.duedates import Span, bounds, spans_of
from fleet.calc.facts import Decision, Event, Found, Owed, Place, Spell, Standing
from fleet.calc.failures import Tested, tests_at
from fleet.calc.intervals import EXPANSION, SAMPLE, WHOLE_GROUP, GroupSample

COUNTED_IN = (DATED, NO_RECORD, NO_DEVICE)


class Member(NamedTuple):
    """One position of a group with the facts its clock runs on; see `duedates.replay`."""

    key: Hashable
    owed: Owed
    position: int
    spells: Sequence[Spell]
    events: Sequence[Event]
    decisions: Sequence[Decision]
    standings: Sequence[Standing]
    place: Place


class Pulled(NamedTuple):
    """Called in by a failure: due that day, until tested on or after it."""

    on: date
    limit: str


class Call(NamedTuple):
    """A failure, and whom it called in, by their places: so many more, or the whole group."""

    on: date
    failed: int
    found: Found
    limit: str
    called: tuple[int, ...]


def replay_group(members: Sequence[Member]) -> dict[Hashable, list[Span]]:
    """The spans of every member by its key; of two equally long untested, the first listed is
    next. All members are owed under one rule, whose shape is a GroupSample.
    """
    if not members:
        return {}
    sweep = follow(members, date.max)
    return {
        member.key: spans_of(member.owed, answers)
        for member, answers in zip(members, sweep.answers, strict=True)
    }


def follow(members: Sequence[Member], until: date) -> "Sweep":
    """The group as it stands at the end of a day: who was called in, by what, and who since was
    tested. `members` as for `replay_group`, at least one."""
    shape = members[0].owed.shape
    if not isinstance(shape, GroupSample):
        raise TypeError(f"{shape.kind} does not sample a group")
    sweep = Sweep(shape, members)
    for day in sweep.days():
        if day > until:
            break
        sweep.turn(day)
    return sweep


class Sweep:
    """The group day by day: only days on which something changes, only members it touches.

    Members go by their place in the sequence. own: each one's answer by itself, None while it is
    not owed. ranked: (last tested, place) of dated members, those longest untested first.
    calls: every failure so far. answered: the days on which one called in was tested.
    """

    def __init__(self, shape: GroupSample, members: Sequence[Member]) -> None:
        self.shape, self.members = shape, members
        self.clocks = [
            Clock(m.owed, m.position, m.spells, m.events, m.decisions, m.standings, m.place)
            for m in members
        ]
        self.own: list[Answer | None] = [None] * len(members)
        self.ranked: list[tuple[date, int]] = []
        self.pulled: dict[int, Pulled] = {}
        self.calls: list[Call] = []
        self.answered: dict[int, list[date]] = defaultdict(list)
        self.slots: dict[int, date] = {}
        self.answers: list[list[tuple[date, Answer]]] = [[] for _ in members]
        self.tests: dict[date, list[tuple[int, Tested]]] = defaultdict(list)
        for place, member in enumerate(members):
            for test in tests_at(member.position, member.owed, member.spells, member.events):
                self.tests[test.on].append((place, test))
        self.turning: dict[date, set[int]] = defaultdict(set)
        for place, clock in enumerate(self.clocks):
            start, end = bounds(members[place].owed)
            for day in (start, *clock.changes(), end):
                if start <= day <= end:
                    self.turning[day].add(place)

    def days(self) -> list[date]:
        return sorted({*self.turning, *self.tests})

    def turn(self, day: date) -> None:
        """Take in what happened on a day, and note every answer that it changes."""
        touched = set(self.turning.get(day, ()))
        for place in touched:
            self._renew(place, day)
        touched |= self._answer_failures(day)
        slots = self._slots()
        touched |= self.slots.keys() | slots.keys()
        self.slots = slots
        for place in touched:
            self._note(place, day)

    def _renew(self, place: int, day: date) -> None:
        """The member's own answer, as if it were alone, and its place in the ranking."""
        before, (start, end) = self.own[place], bounds(self.members[place].owed)
        now = self.clocks[place].answer(day) if start <= day < end else None
        self.own[place] = now
        for answer, is_new in ((before, False), (now, True)):
            if answer is None or answer.state != DATED or answer.last_on is None:
                continue
            row = (answer.last_on, place)
            if is_new:
                insort(self.ranked, row)
            else:
                del self.ranked[bisect_left(self.ranked, row)]

    def _answer_failures(self, day: date) -> set[int]:
        """Pull in more where a test of this day failed; the whole group where it was one pulled
        in already. Returns the places it touches."""
        touched: set[int] = set()
        for place, test in self.tests.get(day, ()):
            if self.own[place] is None:  # no member that day; one laid up failed all the same
                continue
            called = self.pulled.get(place)
            if test.is_failure(self.shape.band):
                since = called.on if called else None
                touched |= self._pull(day, place, test.found, since)
        for place in [place for place in self.pulled if self._is_done(place)]:
            del self.pulled[place]
            self.answered[place].append(day)
            touched.add(place)
        return touched

    def _pull(self, day: date, failed: int, found: Found, since: date | None) -> set[int]:
        """`since`: the day on which the one that failed was itself pulled in, if it was."""
        others = [place for place in self._untested() if place != failed]
        if since is not None:
            limit = WHOLE_GROUP
            chosen = [place for place in others if not self._is_tested_since(place, since)]
        else:
            limit = EXPANSION
            fresh = (place for place in others if self._is_callable(place, day))
            chosen = list(fresh)[: self.shape.expansion]
        for place in chosen:
            earlier = self.pulled.get(place)
            self.pulled[place] = Pulled(min(day, earlier.on) if earlier else day, limit)
        self.calls.append(Call(day, failed, found, limit, tuple(chosen)))
        return set(chosen)

    def _untested(self) -> list[int]:
        """Every member there is, longest untested first; those never tested lead."""
        dated = {place for _, place in self.ranked}
        others = [
            place
            for place, own in enumerate(self.own)
            if own is not None and self._counts(own) and place not in dated
        ]
        return others + [place for _, place in self.ranked]

    def _is_tested_since(self, place: int, day: date) -> bool:
        own = self.own[place]
        tested = own is not None and own.state == DATED and own.event is not None
        return bool(tested and own and own.last_on and own.last_on >= day)

    def _is_in_window(self, place: int, day: date) -> bool:
        own = self.own[place]
        if own is None or own.event is None or own.state != DATED or own.last_on is None:
            return False
        return self.shape.window.after(own.last_on) > day

    def _is_callable(self, place: int, day: date) -> bool:
        """One more: fitted, for nothing can be tested where nothing is, and not tested lately."""
        own = self.own[place]
        is_fitted = own is not None and own.state != NO_DEVICE
        return is_fitted and place not in self.pulled and not self._is_in_window(place, day)

    def _is_done(self, place: int) -> bool:
        return self._is_tested_since(place, self.pulled[place].on)

    @staticmethod
    def _counts(own: Answer) -> bool:
        return own.state in COUNTED_IN

    def _slots(self) -> dict[int, date]:
        """By when which of those longest untested must be tested for no window to fall short.

        With the most recent tests L1 >= L2 >= ..., a window that ends on L(needed) + window still
        holds enough if one more is tested by then: the longest untested; and so on.
        """
        states = [own.state for own in self.own if own is not None and self._counts(own)]
        unranked = states.count(NO_RECORD)  # never tested: they owe at once, whatever the windows
        size, there = len(states), unranked + len(self.ranked)  # an empty place helps nobody out
        needed = min(self.shape.needed(size), there) if size else 0
        return {
            self.ranked[rank - unranked][1]: self.shape.window.after(
                self.ranked[len(self.ranked) - (needed - rank)][0]
            )
            for rank in range(unranked, needed)
        }

    def _note(self, place: int, day: date) -> None:
        """The member's answer in the group, where it is another than before."""
        own, (start, end) = self.own[place], bounds(self.members[place].owed)
        if own is None or not start <= day < end:
            return
        answer, notes = self._in_group(place, own), self.answers[place]
        if not notes or notes[-1][1] != answer:
            notes.append((day, answer))

    def _in_group(self, place: int, own: Answer) -> Answer:
        if own.state != DATED or own.due_on is None:
            return own
        answer, slot, pulled = own, self.slots.get(place), self.pulled.get(place)
        if slot is not None and slot < own.due_on:
            answer = answer._replace(due_on=slot, target_on=None, limit=SAMPLE)
        if pulled and answer.due_on and pulled.on < answer.due_on:
            answer = answer._replace(due_on=pulled.on, target_on=None, limit=pulled.limit)
        return answer
