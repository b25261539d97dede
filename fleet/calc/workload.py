"""The visits of the years ahead, with the cycles that today's choices cause.

A visit is what is done at one place on one day. The next is where the plan puts it, else in the
last outage of its unit in time, else on its due date; what follows is due where its rule says,
counting from that day, and is put again. What a larger activity satisfies is done with it. Where
no later outage is known, the last one answers for a while only (`Outages.until`): beyond that work
is on its due date, for nobody gives up years because nothing later is planned yet.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import NamedTuple

from fleet.calc.activities import SATISFIES
from fleet.calc.cycles import ONE_DAY, Cycle


class Outages(NamedTuple):
    """The days on which a unit's known outages take work, ascending, none before today.

    until: due dates beyond it are beyond the known outages.
    """

    days: Sequence[date] = ()
    until: date = date.min

    def last(self, due_on: date, after: date) -> date | None:
        """The last in time for a due date that begins later than a day."""
        found = bisect_right(self.days, due_on) if due_on <= self.until else 0
        return self.days[found - 1] if found and self.days[found - 1] > after else None

    def first_within(self, after: date, until: date) -> date | None:
        return next((day for day in self.days if after < day <= until), None)


NO_OUTAGES = Outages()


class Task(NamedTuple):
    """One thing owed, from its next visit on.

    due_on: None = owed now, since nothing was ever recorded. done: the days that still count.
    until: the end of leave to pass the due date. ends_on: nothing is owed from that day on.
    """

    activity: str
    due_on: date | None
    cycle: Cycle
    needs_outage: bool
    planned_on: date | None = None
    until: date | None = None
    done: tuple[date, ...] = ()
    ends_on: date | None = None


class Place(NamedTuple):
    """A position with what it owes; kind: of the device fitted there now."""

    key: int
    unit: int
    kind: str
    tasks: tuple[Task, ...]


class Visit(NamedTuple):
    """Work done at a place on a day. activities: the largest, none of which another satisfies.

    due_on: the earliest date of what calls for it, None = owed now. turn: 1 for the next visit.
    """

    place: Place
    on: date
    due_on: date | None
    activities: tuple[str, ...]
    turn: int


@dataclass(slots=True)
class _Running:
    """One task's clock, as the years are walked through."""

    task: Task
    due_on: date | None
    on: date | None
    done: tuple[date, ...]
    turn: int = 1

    def serve(self, day: date, outages: Outages) -> None:
        """Done on a day: it counts from there."""
        task = self.task
        self.done = (*self.done, day)[-task.cycle.remembers :]
        self.turn += 1
        self.due_on = task.cycle.after(self.done)
        self.on = self.due_on and _day_for(task, self.due_on, day, outages)
        self._end()

    def _end(self) -> None:
        ends_on = self.task.ends_on
        if self.on and ends_on and self.on >= ends_on:
            self.on = None


def visits(place: Place, outages: Outages, as_of: date, end: date) -> Iterator[Visit]:
    """Every visit of a place from `as_of` up to, not including, `end`, by day."""
    running = [_begin(task, outages, as_of) for task in place.tasks]
    while days := [clock.on for clock in running if clock.on is not None]:
        day = min(days)
        if day >= end:
            return
        called = [clock for clock in running if clock.on == day]
        yield _visit(place, day, called)
        earned = _earned(frozenset(clock.task.activity for clock in called))
        for clock in running:
            if clock.task.activity in earned:
                clock.serve(day, outages)


def _visit(place: Place, day: date, called: Sequence[_Running]) -> Visit:
    dates = [clock.due_on for clock in called]
    due_on = None if None in dates else min(day for day in dates if day)
    activities = largest(frozenset(clock.task.activity for clock in called))
    return Visit(place, day, due_on, activities, min(clock.turn for clock in called))


@cache
def largest(activities: frozenset[str]) -> tuple[str, ...]:
    """Those that no other one of them satisfies too, in order of name."""
    covered = {owed for done in activities for owed in SATISFIES[done] if owed != done}
    return tuple(sorted(activities - covered))


@cache
def _earned(activities: frozenset[str]) -> frozenset[str]:
    """Everything that these satisfy."""
    return frozenset().union(*(SATISFIES[activity] for activity in activities))


def _begin(task: Task, outages: Outages, as_of: date) -> _Running:
    clock = _Running(task, task.due_on, _first_day(task, outages, as_of), task.done)
    clock._end()
    return clock


def _first_day(task: Task, outages: Outages, as_of: date) -> date:
    """What is owed already goes into the first outage there is, or counts as of now."""
    if task.planned_on is not None:
        return max(task.planned_on, as_of)
    if task.due_on is None or task.due_on < as_of:
        return outages.days[0] if task.needs_outage and outages.days else as_of
    if task.needs_outage and not outages.last(task.due_on, as_of - ONE_DAY) and task.until:
        return outages.first_within(task.due_on, task.until) or task.due_on
    return _day_for(task, task.due_on, as_of - ONE_DAY, outages)


def _day_for(task: Task, due_on: date, after: date, outages: Outages) -> date:
    """The last outage in time that begins later than a day, else the due date itself."""
    return (outages.last(due_on, after) if task.needs_outage else None) or due_on


def on_its_dates(place: Place) -> Place:
    """The same place, had everything been done exactly when it is due."""
    return place._replace(
        tasks=tuple(
            task._replace(planned_on=None, until=None, needs_outage=False) for task in place.tasks
        )
    )
