"""What holds at a position on any one day, from its facts sorted once.

A device brings what it earned, wherever that was done; what is earned in place stays with the
position, and a fitting counts there as a replacement.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import NamedTuple

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.durations import Duration
from fleet.calc.facts import COMMISSIONED_ON, Decision, Event, Owed, Place, Spell, Standing
from fleet.calc.histories import Entry, Service, histories, served_days
from fleet.calc.intervals import (
    ACT_BY,
    DECISION,
    GAP,
    RETURN,
    RUN,
    TEST_BEFORE_RETURN,
    AfterEvent,
    Due,
    Known,
    Shape,
)
from fleet.calc.places import Happenings

DATED, NO_DEVICE, NO_RECORD = "dated", "no_device", "no_record"
INTERVAL_NOT_SET, NOT_REQUIRED, WAITING = "interval_not_set", "not_required", "waiting"
SHELF = "shelf"  # the limit of a no_record: tested, but too long on the shelf before it was fitted
FOREVER = Duration(2400, 0, "P200Y")


class Answer(NamedTuple):
    """What holds on a day; `last_on` is the day it counts from, `event` what was done for it."""

    state: str
    due_on: date | None = None
    target_on: date | None = None
    last_on: date | None = None
    event: int | None = None
    decision: int | None = None
    limit: str = ""
    device: int | None = None


class Regime(NamedTuple):
    """From a day on: the decision in force, the rule under it, the rule without any interval."""

    from_on: date
    decision: Decision | None
    shape: Shape
    others: Shape

    def due(self, history: Sequence[date], known: Known, *, was_running: bool) -> Due | None:
        """Due after these days; under a decision, its act_by where the interval was past by then.

        act_by is leave for the clock that ran on the day of the decision, and only from the
        interval decided on: the rule's other limits stay, and a device fitted later with an older
        record is due when its interval says.
        """
        due = self.shape.due(history, known)
        if due is None or self.decision is None or due.limit != GAP:
            return due
        act_by = self.decision.act_by
        if act_by is None or not was_running or due.due_on >= self.decision.from_on:
            return replace(due, limit=DECISION)
        other = self.others.due(history, known)
        return other if other and other.due_on < act_by else Due(act_by, None, ACT_BY)


def regimes(shape: Shape, decisions: Iterable[Decision]) -> list[Regime]:
    """The rule as it is, then as each decision in turn leaves it."""
    ordered = sorted(decisions, key=lambda decision: (decision.from_on, decision.id))
    others = shape.with_interval(FOREVER) if ordered else shape
    return [Regime(date.min, None, shape, others)] + [
        Regime(decision.from_on, decision, shape.with_interval(decision.interval), others)
        for decision in ordered
    ]


class Clock:
    """The clock of one thing owed at one position."""

    def __init__(
        self,
        owed: Owed,
        position: int,
        spells: Sequence[Spell],
        events: Iterable[Event],
        decisions: Iterable[Decision],
        standings: Iterable[Standing],
        place: Place,
    ) -> None:
        self.owed, self.shape = owed, owed.shape
        self.is_earned_in_place = owed.activity in EARNED_IN_PLACE
        self.service = Service(spell for spell in spells if spell.position == position)
        counted = [event for event in events if event.is_counted]
        self.histories = histories(owed, position, self.service, spells, counted)
        self.served = served_days(self.service, self.histories)
        self.happenings = Happenings(owed, place)
        self.regimes = regimes(owed.shape, decisions)
        self.regime_starts = [regime.from_on for regime in self.regimes]
        ordered = sorted((s.from_on or date.min, s.required) for s in standings)
        self.standing_starts = [from_on for from_on, _ in ordered]
        self.is_required = [required for _, required in ordered]

    def changes(self) -> Iterable[date]:
        """Every day on which the answer may change."""
        yield from self.service.starts
        yield from (spell.removed_on for spell in self.service.spells if spell.removed_on)
        for history in self.histories.values():
            yield from history.done
        yield from self.regime_starts
        yield from self.standing_starts
        yield from self.happenings.days()
        for first_day in (self.owed.commissioned_on, self.owed.in_service_on):
            if first_day:
                yield first_day

    def answer(self, day: date) -> Answer:
        spell = self.service.on(day)
        if not self._is_required(day):
            return Answer(NOT_REQUIRED, device=spell.device if spell else None)
        if spell is None:
            return Answer(NO_DEVICE)
        if isinstance(self.shape, AfterEvent):
            return self._called_for(day, spell, self.shape)
        entry = self.histories[self._owner(spell)].last(day)
        if entry is None:
            return self._before_any_record(day, spell)
        if entry.is_spent:
            return _spent(entry, spell)
        days = self.histories[self._owner(spell)].days[: entry.upto]
        return self._dated(day, spell, days, entry)

    def counted(self, day: date) -> Sequence[date]:
        """The days that count as of a day, ascending; none where nothing is fitted."""
        spell = self.service.on(day)
        history = self.histories[self._owner(spell)] if spell else None
        entry = history.last(day) if history else None
        return history.days[: entry.upto] if history and entry and not entry.is_spent else ()

    def _is_required(self, day: date) -> bool:
        standing = bisect_right(self.standing_starts, day)
        if standing and not self.is_required[standing - 1]:
            return False
        return self.shape.out_of_service == RUN or not self.happenings.is_idle(day)

    def _called_for(self, day: date, spell: Spell, shape: AfterEvent) -> Answer:
        """Whatever device was in service when it was done has answered the trigger for good."""
        done = [served for served in self.served if served.on <= day]
        due = shape.due(sorted(served.done_on for served in done), self.happenings.known(day))
        if due is not None:
            limit, on = due.limit, due.counted_from
            return Answer(DATED, due.due_on, None, on, limit=limit, device=spell.device)
        last = max(done, key=lambda served: (served.done_on, served.event or 0), default=None)
        if last is None:
            return Answer(WAITING, device=spell.device)
        return Answer(WAITING, last_on=last.done_on, event=last.event, device=spell.device)

    def _before_any_record(self, day: date, spell: Spell) -> Answer:
        """A first day stands in for the first record, of the device fitted then or first after.

        A device that came later without a record has none: never the old date.
        """
        on = self.owed.commissioned_on
        if not self.shape.needs_history:
            on = self.owed.in_service_on
            if on is None:
                return Answer(INTERVAL_NOT_SET, device=spell.device)
        elif self.owed.counts_from != COMMISSIONED_ON:
            return Answer(NO_RECORD, device=spell.device)
        if on is None or day < on:
            return Answer(NO_RECORD, device=spell.device)
        first = self.service.first_from(on)
        if first is not None and self._owner(first) != self._owner(spell):
            return Answer(NO_RECORD, device=spell.device)
        return self._dated(day, spell, [on] if self.shape.needs_history else [], None)

    def _dated(
        self, day: date, spell: Spell, history: Sequence[date], entry: Entry | None
    ) -> Answer:
        regime = self.regimes[bisect_right(self.regime_starts, day) - 1]
        decision = regime.decision
        then = self.service.on(decision.from_on) if decision else None
        was_running = self._owner(then) == self._owner(spell)
        due = regime.due(history, self.happenings.known(day), was_running=was_running)
        if due is None:
            return Answer(INTERVAL_NOT_SET, device=spell.device)
        due = self._before_return(day, due, entry)
        return Answer(
            DATED,
            due.due_on,
            due.target_on,
            due.counted_from or history[-1],
            entry.event if entry else None,
            decision.id if decision else None,
            due.limit,
            spell.device,
        )

    def _before_return(self, day: date, due: Due, entry: Entry | None) -> Due:
        """Back in service untested, where the rule wants a test first: due the day it returned."""
        if self.shape.out_of_service != TEST_BEFORE_RETURN:
            return due
        idle = self.happenings.last_return(day)
        if idle is None or idle.to_on is None or due.due_on <= idle.to_on:
            return due
        is_tested = entry is not None and entry.done_on >= idle.from_on
        return due if is_tested else replace(due, due_on=idle.to_on, target_on=None, limit=RETURN)

    def _owner(self, spell: Spell | None) -> int | None:
        """Whose history counts: the device's, or the position's own (None)."""
        return spell.device if spell and not self.is_earned_in_place else None


def _spent(entry: Entry, spell: Spell) -> Answer:
    """No record, though there is a test: named, because the shelf took its worth."""
    return Answer(
        NO_RECORD, last_on=entry.done_on, event=entry.event, limit=SHELF, device=spell.device
    )
