"""What an outage has to take, by date: its scope, and the bench hours it needs."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.db.models import Case, IntegerField, Value, When

from fleet.calc.activities import SATISFIES
from fleet.models import Device, JobHours, Outage, OutageUnit, SpanState, Unit
from fleet.reports.chances import ON_STREAM
from fleet.reports.due import DueList, DueRow, rows_of
from fleet.reports.due_ask import in_scope_of, scope_until
from fleet.reports.due_lines import Line, in_order, keyed_lines_of, sources
from fleet.reports.proposals import Proposals

NO_RECORD, OVERDUE, LATE, DEFERRED, IN_TIME = "no_record", "overdue", "late", "deferred", "in_time"
SCOPE_SORTS = ("due_on", "tag", "activity", "hours")
COLUMNS = (
    *("outage", "site", "unit", "tag", "device", "serial", "kind", "activity", "due_on", "status"),
    *("standing", "days_late", "hours", "covered_by", "open_proposal", "reason"),
)


@dataclass(frozen=True)
class Work:
    """One line of an outage's scope.

    standing: why it is here. hours: at the bench; None = nobody has said, and it stays missing.
    covered_by: the larger activity at the same position that does this one too.
    """

    line: Line
    standing: str
    days_late: int
    hours: Decimal | None
    covered_by: str

    @property
    def is_on_stream(self) -> bool:
        return self.line.activity in ON_STREAM

    @property
    def is_missing_hours(self) -> bool:
        return self.hours is None and not self.is_on_stream


@dataclass(frozen=True)
class Scope:
    """What one outage has to take: its work by due date, and how far it looks."""

    outage: Outage
    due: DueList
    work: Sequence[Work]
    ends_on: date

    @property
    def hours_needed(self) -> Decimal:
        return sum((work.hours for work in self.work if work.hours), Decimal())

    @property
    def missing_hours(self) -> int:
        return sum(work.is_missing_hours for work in self.work)

    @property
    def hours_short(self) -> Decimal | None:
        """Hours needed beyond what is offered; None where nothing is offered or it is enough."""
        offered = self.outage.bench_hours
        short = self.hours_needed - offered if offered is not None else None
        return short if short is not None and short > 0 else None

    @cached_property
    def numbers(self) -> dict[str, int]:
        """How many of each standing; work that can be done on stream is left out."""
        numbers: dict[str, int] = defaultdict(int)
        for work in self.work:
            numbers[work.standing] += not work.is_on_stream
        return dict(numbers)

    @property
    def on_stream(self) -> int:
        return sum(work.is_on_stream for work in self.work)

    @property
    def late(self) -> int:
        """What is late or will be when the outage begins, deferred or not."""
        return sum(self.numbers.get(standing, 0) for standing in (OVERDUE, LATE, DEFERRED))

    @cached_property
    def open_units(self) -> list[Unit]:
        """Units of which no later outage is planned: their scope ends at `ends_on`."""
        around = self.due.seen.chances.around
        outage = self.outage
        units = self.outage.units.all()
        return [unit for unit in units if not around(unit.pk, outage.pk, outage.starts_on)[1]]

    @cached_property
    def proposed(self) -> int:
        """Lines with an open proposal. One query, and only where it is asked for."""
        seen = self.due.seen
        proposals = Proposals.about([w.line for w in self.work], seen.as_of, seen.known_at)
        return sum(proposals.of(work.line) is not None for work in self.work)

    def count(self) -> int:
        return len(self.work)

    def rows(self, start: int, stop: int | None, sort: str) -> list[tuple[Work, DueRow]]:
        """A page of the scope, with everything the due list says about each line."""
        ordered = sorted(self.work, key=lambda work: _sort_key(work, sort.lstrip("-")))
        page = (ordered[::-1] if sort.startswith("-") else ordered)[start:stop]
        return list(zip(page, rows_of([w.line for w in page], self.due.seen), strict=True))

    def as_dicts(self) -> Iterable[dict]:
        for work, row in self.rows(0, None, "due_on"):
            said = {
                "outage": self.outage.name,
                "standing": work.standing,
                "days_late": work.days_late,
                "hours": work.hours,
                "covered_by": work.covered_by,
            }
            yield {name: said[name] if name in said else getattr(row, name) for name in COLUMNS}


def _sort_key(work: Work, sort: str) -> tuple:
    line = work.line
    tail = (line.order_on, line.tag, line.position, line.obligation or 0)
    if sort == "hours":
        return (work.hours is not None, work.hours or Decimal(), *tail)
    return ({"tag": line.tag, "activity": line.activity}.get(sort, line.order_on), *tail)


def scope_of(outage: Outage, due: DueList, until: date | None = None) -> Scope:
    """The scope of one outage; `until` ends it where no later outage of the unit is planned."""
    return scopes([outage], due, until)[0]


def scopes(outages: Sequence[Outage], due: DueList, until: date | None = None) -> list[Scope]:
    """The scopes of outages that stand, each line in the first that takes it. Three queries."""
    whens = [
        When(in_scope_of(outage, due.seen, until), then=Value(outage.pk)) for outage in outages
    ]
    by_outage: dict[int, list[Line]] = defaultdict(list)
    if whens:
        key = Case(*whens, default=Value(0), output_field=IntegerField())
        parts = [
            part.annotate(line_key=key).exclude(line_key=0) for part in sources(due.as_of, due.user)
        ]
        for line, pk in keyed_lines_of(in_order(parts, "order_on", key)):
            by_outage[pk].append(line)
    hours = Hours.of([line for lines in by_outage.values() for line in lines])
    return [
        Scope(
            outage,
            due,
            worked(by_outage[outage.pk], outage, due.as_of, hours),
            until or scope_until(outage),
        )
        for outage in outages
    ]


@dataclass(frozen=True)
class Hours:
    """Bench hours by activity and kind of device, and the kind of each device asked about."""

    kinds: dict[int, str]
    hours: dict[tuple[str, str], Decimal]

    @classmethod
    def of(cls, lines: Iterable[Line]) -> "Hours":
        devices = Device.objects.filter(pk__in={line.device for line in lines if line.device})
        given = {(row.activity, row.kind): row.hours for row in JobHours.objects.all()}
        return cls(dict(devices.values_list("pk", "kind")), given)

    def for_line(self, line: Line) -> Decimal | None:
        """Those of its kind, else those of any kind, else none given."""
        kind = self.kinds.get(line.device, "") if line.device else ""
        return self.hours.get((line.activity, kind), self.hours.get((line.activity, "")))


def worked(lines: Sequence[Line], outage: Outage, as_of: date, hours: Hours) -> list[Work]:
    """Say of each line why it is in scope and what it takes."""
    activities: dict[int, set[str]] = defaultdict(set)
    for line in lines:
        activities[line.position].add(line.activity)
    found = []
    for line in lines:
        covered = covered_by(line.activity, activities[line.position])
        taken = Decimal() if covered else hours.for_line(line)
        standing, days_late = standing_of(line, outage.starts_on, as_of)
        found.append(Work(line, standing, days_late, taken, covered))
    return found


def overlapping(
    own: int | None, units: Iterable[Unit], starts_on: date, ends_on: date
) -> list[tuple[Unit, Outage]]:
    """Units that another outage shuts down on some of these days, each with that outage."""
    units = {unit.pk: unit for unit in units}
    rows = Outage.objects.filter(starts_on__lte=ends_on, ends_on__gte=starts_on)
    rows = rows.exclude(status=Outage.Status.CANCELLED).exclude(pk=own)
    links = OutageUnit.objects.filter(outage__in=rows, unit__in=units).select_related("outage")
    return [(units[link.unit_id], link.outage) for link in links.order_by("outage__starts_on")]


def covered_by(activity: str, here: Iterable[str]) -> str:
    """The activity in scope at the same position that satisfies this one too, or nothing."""
    larger = [other for other in here if other != activity and activity in SATISFIES.get(other, ())]
    return max(larger, key=lambda other: (len(SATISFIES[other]), other), default="")


def standing_of(line: Line, starts_on: date, as_of: date) -> tuple[str, int]:
    """Why a line is in an outage's scope, and how late it will be when the outage begins."""
    if line.state == SpanState.NO_RECORD or line.due_on is None:
        return NO_RECORD, 0
    days_late = max((starts_on - line.due_on).days, 0)
    if line.until and line.until >= starts_on and days_late:
        return DEFERRED, days_late
    if line.due_on < as_of:
        return OVERDUE, days_late
    return (LATE, days_late) if days_late else (IN_TIME, 0)
