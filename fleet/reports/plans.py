"""A plan as it is looked at: its figures, what each outage takes, its lines a page at a time."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce, TruncMonth

from fleet.calc.outages import STOPPED, Week, spread
from fleet.models import Outage, Plan, PlannedJob, Unit
from fleet.reports.chances import NEEDS_OUTAGE
from fleet.reports.plan_rows import COLUMNS
from fleet.reports.plan_since import with_done_on
from fleet.reports.plan_slots import offered

Status = PlannedJob.Status
SORTS = {
    "tag": "pk",
    "activity": "activity",
    "due_on": "order_on",
    "planned_on": "planned_on",
    "days_given_up": "days_given_up",
    "hours": "hours",
}
NEVER_EMPTY = ("pk", "order_on", "activity")
LINKS = ("plan__site", "position", "outage", "unit", "device")


@dataclass(frozen=True)
class PlanAsk:
    """What is wanted of a plan's lines; empty means any. work: "" leaves out what needs neither
    an outage nor the bench; "any" takes everything."""

    unit: int | None = None
    outage: int | None = None
    status: str = ""
    activity: str = ""
    work: str = ""
    find: str = ""

    def of(self, jobs: QuerySet[PlannedJob]) -> QuerySet[PlannedJob]:
        if self.work != "any" and not self.activity:
            jobs = jobs.filter(activity__in=NEEDS_OUTAGE)
        exact = {"unit": self.unit, "outage": self.outage}
        exact |= {"status": self.status, "activity": self.activity}
        jobs = jobs.filter(**{name: value for name, value in exact.items() if value})
        return jobs.filter(position__tag__icontains=self.find) if self.find else jobs


@dataclass(frozen=True)
class PlanJobs:
    """The lines of a plan, as far as they are asked for."""

    plan: Plan
    ask: PlanAsk = field(default_factory=PlanAsk)

    @cached_property
    def found(self) -> QuerySet[PlannedJob]:
        return self.ask.of(self.plan.jobs.all())

    def count(self) -> int:
        return _count(self.plan.pk, self.plan.digest, self.ask)

    def rows(self, start: int, stop: int | None, sort: str) -> list[PlannedJob]:
        return list(self._ordered(sort)[start:stop])

    def as_dicts(self, sort: str = "due_on") -> Iterator[dict[str, Any]]:
        for job in self._ordered(sort).iterator(chunk_size=1000):
            yield {name: VALUES.get(name, _own)(job, name) for name in COLUMNS}

    def _ordered(self, sort: str) -> QuerySet[PlannedJob]:
        turned, name = sort.startswith("-"), SORTS[sort.lstrip("-")]
        jobs = with_done_on(self.found).select_related(*LINKS)
        if name in NEVER_EMPTY:  # so that an index serves
            return jobs.order_by(f"{'-' if turned else ''}{name}", "-pk" if turned else "pk")
        column = F(name).desc(nulls_last=True) if turned else F(name).asc(nulls_first=True)
        return jobs.order_by(column, "pk")


def _own(job: PlannedJob, name: str) -> Any:
    return getattr(job, name)


VALUES = {
    "site": lambda job, _: job.plan.site.name,
    "tag": lambda job, _: job.position.tag,
    "outage": lambda job, _: job.outage.name if job.outage else "",
}


@dataclass(frozen=True)
class Take:
    """What one outage takes by a plan. missing: lines whose hours nobody gave.

    saves, lets_in: days of good interval one more bench hour would save, unplaced lines it would
    take; prices of the relaxed problem, true for small changes only. is_priced: False where time
    ran out before this outage was priced.
    """

    outage: Outage
    jobs: int
    needed: Decimal
    missing: int
    late: int
    saves: Decimal
    lets_in: Decimal
    is_priced: bool = True

    def takes_from(self, unit: int) -> bool:
        return any(one.pk == unit for one in self.outage.units.all())

    @property
    def offered(self) -> Decimal | None:
        return offered(self.outage)

    @property
    def weeks(self) -> list[Week]:
        """The hours over its weeks, from the first on."""
        outage = self.outage
        return spread([self.needed], outage.starts_on, outage.ends_on, outage.weekly_hours)

    @property
    def is_over(self) -> bool:
        return self.offered is not None and self.needed > self.offered


@dataclass(frozen=True)
class Figures:
    """Counts and days of a plan, in one query."""

    jobs: int
    placed: int
    online: int
    late: int
    none: int
    days_given_up: int

    @classmethod
    def of(cls, plan: Plan) -> "Figures":
        return _figures(plan.pk, plan.digest)

    @classmethod
    def counted(cls, plan: Plan) -> "Figures":
        counts = {status: Count("pk", filter=Q(status=status)) for status in Status.values}
        said = plan.jobs.aggregate(all=Count("pk"), days=Sum("days_given_up"), **counts)
        return cls(
            said["all"],
            *(said[status] for status in Status.values),
            days_given_up=said["days"] or 0,
        )


# The lines of a plan that was worked out never change: what is counted of them is counted once.
@lru_cache(maxsize=64)
def _figures(pk: int, digest: str) -> Figures:
    return Figures.counted(Plan(pk=pk))


@lru_cache(maxsize=64)
def _by_outage(pk: int, digest: str) -> dict[int, dict[str, Any]]:
    groups = (
        PlannedJob.objects.filter(plan=pk)
        .exclude(outage=None)
        .values("outage")
        .annotate(
            number=Count("pk"),
            needed=Sum("hours"),
            missing=Count("pk", filter=Q(hours=None)),
            late=Count("pk", filter=Q(status=Status.LATE)),
        )
    )
    return {row["outage"]: row for row in groups}


@lru_cache(maxsize=64)
def _count(pk: int, digest: str, ask: PlanAsk) -> int:
    return ask.of(PlannedJob.objects.filter(plan=pk)).count()


def takes_of(plan: Plan) -> list[Take]:
    """Every outage still to come that the plan might use, with what it takes. Two queries."""
    said = _by_outage(plan.pk, plan.digest)
    rows = Outage.objects.filter(site=plan.site_id, ends_on__gte=plan.from_on)
    rows = rows.filter(Q(pk__in=said) | Q(starts_on__lte=plan.to_on, status__in=STANDS))
    return [
        _take(plan, outage, said.get(outage.pk, {})) for outage in rows.prefetch_related("units")
    ]


STANDS = (Outage.Status.PLANNED, Outage.Status.UNDER_WAY)


def _take(plan: Plan, outage: Outage, said: dict[str, Any]) -> Take:
    price = plan.prices.get(str(outage.pk), {})
    return Take(
        outage,
        said.get("number", 0),
        said.get("needed") or Decimal(),
        said.get("missing", 0),
        said.get("late", 0),
        Decimal(price.get("days", "0")),
        Decimal(price.get("lines", "0")),
        bool(price) or plan.solver_status != STOPPED,
    )


def apart_of(plan: Plan) -> dict[int, list[tuple[date, str, int]]]:
    """{unit: [(month, kind, number), ...]}: what no outage takes, by the month it is due or done;
    what has no date, or was due before, stands at the plan's first month."""
    return _apart(plan.pk, plan.digest, plan.from_on)


@lru_cache(maxsize=64)
def _apart(pk: int, digest: str, from_on: date) -> dict[int, list[tuple[date, str, int]]]:
    outside = PlannedJob.objects.filter(plan=pk, outage=None, activity__in=NEEDS_OUTAGE)
    rows = outside.annotate(month=TruncMonth(Coalesce("planned_on", "due_on"))).values(
        "unit", "month", "status"
    )
    found: dict[int, dict[tuple[date, str], int]] = defaultdict(lambda: defaultdict(int))
    first = from_on.replace(day=1)
    for row in rows.annotate(number=Count("pk")).order_by("unit", "month"):
        month = max(row["month"] or first, first)
        kind = "online" if row["status"] == Status.ONLINE else "none"
        found[row["unit"]][month, kind] += row["number"]
    return {
        unit: [(month, kind, number) for (month, kind), number in sorted(months.items())]
        for unit, months in found.items()
    }


def units_of(plan: Plan) -> list[Unit]:
    """The units that have lines in the plan, by name."""
    return list(Unit.objects.filter(pk__in=_units(plan.pk, plan.digest)).order_by("name"))


@lru_cache(maxsize=64)
def _units(pk: int, digest: str) -> tuple[int, ...]:
    rows = PlannedJob.objects.filter(plan=pk).order_by("unit")
    return tuple(rows.values_list("unit", flat=True).distinct())
