"""What the years ahead are worked out from: what is owed, under which rule, in which plan."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import cast

from django.db.models import F, Model, QuerySet

from fleet.calc.clocks import Clock, regimes
from fleet.calc.cycles import Cycle
from fleet.calc.facts import Decision
from fleet.calc.intervals import AgeSteps
from fleet.calc.loads import Hours
from fleet.calc.units import parse_duration
from fleet.calc.workload import Outages, Place, Task
from fleet.models import (
    Installation,
    IntervalDecision,
    IntervalRule,
    JobHours,
    Obligation,
    ObligationSpan,
    Plan,
    PlannedJob,
    SpanState,
    User,
)
from fleet.replay_facts import load_facts
from fleet.replays import member_of
from fleet.reports.chances import NEEDS_OUTAGE, Chance, Chances
from fleet.reports.due import DueList
from fleet.reports.due_ask import OPEN_ENDED, Ask
from fleet.reports.due_lines import Line

OWED = (SpanState.DATED, SpanState.NO_RECORD)
A_WEEK = timedelta(days=7)
Terms = tuple[int, str, date | None, date | None]  # rule, season, last day, entered service on


@dataclass(frozen=True)
class Known:
    """Everything that is owed as far as a reader may see it, ready to be walked through.

    left_out: lines of which no next day is known, by state. once: those of which it is, but what
    follows would be a guess. planned: those that stand in an accepted plan.
    """

    as_of: date
    places: Sequence[Place]
    chances: Chances
    tags: Mapping[int, str]
    hours: Hours
    left_out: Mapping[str, int]
    once: int
    planned: int

    @cached_property
    def outages(self) -> dict[int, Outages]:
        """By unit. The last one known answers as far as its scope does."""
        return {
            unit: Outages(
                sorted({max(chance.starts_on, self.as_of) for chance in chances}),
                OPEN_ENDED.after(chances[-1].starts_on),
            )
            for unit, chances in self.chances.by_unit.items()
        }

    @cached_property
    def ends(self) -> dict[tuple[int, date], date]:
        """The last day of each outage, by unit and the day on which it takes work."""
        return {
            (unit, max(chance.starts_on, self.as_of)): chance.ends_on
            for unit, chances in self.chances.by_unit.items()
            for chance in chances
        }


def known_on(as_of: date, user: User | None = None, site: int | None = None) -> Known:
    """Read it all, of one site or of every one. The number of queries does not grow."""
    due = DueList(as_of, user, Ask(site=site))
    lines, chances = due.lines(), due.seen.chances
    owed = _seen(Obligation, user, "position__site", site).exclude(until_on__lte=as_of)
    making = _Making(as_of, owed, _planned(user, site, as_of, chances))
    tasks: dict[int, list[Task]] = defaultdict(list)
    left_out: Counter[str] = Counter()
    for line in lines:
        if line.state in OWED and line.obligation in making.terms:
            tasks[line.position].append(making.task(line))
        elif line.state != SpanState.NOT_REQUIRED:
            left_out[line.state] += 1
    for position, task in making.later():
        tasks[position].append(task)
    kinds = dict(
        _seen(Installation, user, "position__site", site)
        .filter(pk__in=Installation.objects.on(as_of).values("pk"))
        .values_list("position", "device__kind")
    )
    units = {line.position: line.unit for line in lines}
    places = [
        Place(position, units[position], kinds.get(position, ""), tuple(owes))
        for position, owes in tasks.items()
        if position in units
    ]
    return Known(
        as_of=as_of,
        places=places,
        chances=chances,
        tags={line.position: line.tag for line in lines},
        hours={(row.activity, row.kind): row.hours for row in JobHours.objects.all()},
        left_out=left_out,
        once=sum(task.cycle.after([as_of]) is None for place in places for task in place.tasks),
        planned=sum(t.planned_on is not None for place in places for t in place.tasks),
    )


def _seen(model: type[Model], user: User | None, path: str, site: int | None) -> QuerySet:
    rows = model._default_manager.all() if user is None else model._default_manager.visible_to(user)  # type: ignore[attr-defined]
    return rows.filter(**{path: site}) if site else rows


def _planned(
    user: User | None, site: int | None, as_of: date, chances: Chances
) -> dict[tuple[int, date | None], date]:
    """The day on which an accepted plan has what is owed, by obligation and due date.

    A plan does not know what was done, moved or cancelled since: another due date is another
    visit, an outage that moved takes its work along, and a day that has passed places nothing.
    """
    standing: dict[int, Chance] = {c.pk: c for every in chances.by_unit.values() for c in every}
    plans = _seen(Plan, user, "site", site).in_force()  # type: ignore[attr-defined]
    rows = PlannedJob.objects.filter(plan__in=plans, planned_on__isnull=False)
    found = {}
    for row in rows.only("obligation", "due_on", "outage", "planned_on"):
        day = cast(date, row.planned_on)
        chance = standing.get(row.outage_id) if row.outage_id else None
        if chance is not None:
            day = day if chance.starts_on <= day <= chance.ends_on else chance.starts_on
        elif row.outage_id or day + A_WEEK <= as_of:
            continue
        found[row.obligation_id, row.due_on] = day
    return found


class _Making:
    """Tasks from lines: each with how it comes again, what counted, where a plan has it."""

    def __init__(
        self, as_of: date, owed: QuerySet, planned: Mapping[tuple[int, date | None], date]
    ) -> None:
        self.as_of, self.owed, self.planned = as_of, owed, planned
        rows = owed.values_list("pk", "rule", "season", "until_on", "position__in_service_on")
        self.terms: dict[int, Terms] = {pk: (*terms,) for pk, *terms in rows}  # type: ignore[misc]
        self.rules = {rule.pk: rule.shape for rule in IntervalRule.objects.all()}
        self.decisions = _decisions(owed)
        self.removed = _removed(owed, as_of)
        self.cycles: dict[tuple, Cycle] = {}

    def task(self, line: Line) -> Task:
        pk = line.obligation or 0
        cycle = self.cycle(pk)
        return Task(
            activity=line.activity,
            due_on=line.due_on,
            cycle=cycle,
            needs_outage=line.activity in NEEDS_OUTAGE,
            planned_on=self.planned.get((pk, line.due_on)),
            until=line.until,
            done=self.counted.get(pk, ()) if cycle.remembers > 1 else (),
            ends_on=self.ends_on(pk),
        )

    def ends_on(self, pk: int) -> date | None:
        """Its own last day, or the day from which the position needs nothing for good."""
        ends = (self.terms[pk][2], self.removed.get(pk))
        return min((day for day in ends if day), default=None)

    def later(self) -> Iterable[tuple[int, Task]]:
        """What begins to be owed on a day still ahead, as its replay answers for that day."""
        spans = ObligationSpan.objects.known().filter(
            obligation__in=self.owed.filter(from_on__gt=self.as_of),
            from_on=F("obligation__from_on"),
            state__in=OWED,
        )
        for pk, position, activity, from_on, due_on in spans.values_list(
            "obligation", "obligation__position", "obligation__activity", "from_on", "due_on"
        ):
            day = max(due_on or from_on, from_on)
            needs_outage = activity in NEEDS_OUTAGE
            yield (
                position,
                Task(activity, day, self.cycle(pk), needs_outage, ends_on=self.terms[pk][2]),
            )

    def cycle(self, pk: int) -> Cycle:
        """One for all that is owed alike."""
        rule, season, _, entered = self.terms[pk]
        shape, decided = self.rules[rule], self.decisions.get(pk, [])
        key = (
            rule,
            season,
            entered if isinstance(shape, AgeSteps) else None,
            pk if decided else None,
        )
        if key not in self.cycles:
            self.cycles[key] = Cycle(regimes(shape, decided), season, entered)
        return self.cycles[key]

    @cached_property
    def counted(self) -> dict[int, tuple[date, ...]]:
        """The last days that count, of what is owed under rules that ask for more than one."""
        rules = [pk for pk, shape in self.rules.items() if Cycle(regimes(shape, [])).remembers > 1]
        rows = list(self.owed.filter(rule__in=rules).select_related("rule", "position"))
        positions = {row.position_id: row.position for row in rows}
        facts = load_facts(list(positions), [row.pk for row in rows], with_stored=False)
        found = {}
        for row in rows:
            clock = Clock(*member_of(row, positions[row.position_id], facts)[1:])
            days = clock.counted(self.as_of)
            found[row.pk] = tuple(days[-self.cycle(row.pk).remembers :])
        return found


def _decisions(owed: QuerySet) -> dict[int, list[Decision]]:
    found: dict[int, list[Decision]] = defaultdict(list)
    rows = IntervalDecision.objects.filter(obligation__in=owed)
    for pk, key, from_on, interval, act_by in rows.values_list(
        "obligation", "pk", "from_on", "interval", "act_by"
    ):
        found[pk].append(Decision(key, from_on, parse_duration(interval), act_by))
    return found


def _removed(owed: QuerySet, as_of: date) -> dict[int, date]:
    """From when on nothing is required any more, of what is known to come to that."""
    last = ObligationSpan.objects.known().filter(
        obligation__in=owed, state=SpanState.NOT_REQUIRED, until_on=None, from_on__gt=as_of
    )
    return dict(last.values_list("obligation", "from_on"))
