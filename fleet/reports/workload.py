"""Workload ahead: hours a month over years, by unit, beside what the bench has to offer."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property, reduce
from typing import Any

from fleet.calc.bench import Offered, Opening, offered
from fleet.calc.loads import NO_LOAD, Load, first_day_of, loads, month_of
from fleet.calc.workload import NO_OUTAGES, Visit, on_its_dates, visits
from fleet.models import Site, Unit, User
from fleet.reports.chances import ON_STREAM, outages_for, still_serving
from fleet.reports.workload_facts import Known, known_on

YEARS = range(5, 11)
COLUMNS = (
    *("site", "unit", "month", "hours", "visits", "hours_on_stream", "jobs_on_stream"),
    *("jobs_without_hours", "hours_on_due_dates", "visits_on_due_dates"),
    *("site_hours", "site_hours_offered", "site_days_nobody_spoke_of"),
)
Months = Mapping[int, Load]


@dataclass(frozen=True)
class Row:
    """One unit, or a site whole: its months as they are planned, and each on its due date."""

    name: str
    unit: int | None
    planned: Months
    exact: Months

    def load(self, month: int) -> Load:
        return self.planned.get(month, NO_LOAD)

    @cached_property
    def total(self) -> Load:
        return _sum(self.planned.values())

    def in_year(self, year: int) -> Load:
        return _sum(load for month, load in self.planned.items() if month // 12 == year)


def _sum(every: Iterable[Load]) -> Load:
    return reduce(Load.plus, every, NO_LOAD)


@dataclass(frozen=True)
class Beside:
    """A month's hours beside the hours on offer in it; None offered: nobody has said."""

    month: int
    load: Load
    offered: Offered

    @property
    def first_on(self) -> date:
        return first_day_of(self.month)

    @property
    def over(self) -> Fraction | None:
        """Hours beyond what is said to be on offer; None where nothing is, or it is enough."""
        if self.offered.hours is None:
            return None
        beyond = self.load.hours - self.offered.hours
        return beyond if beyond > 0 else None


@dataclass(frozen=True)
class SiteAhead:
    """One site: its bench is one, whatever the units; so capacity stands beside the whole."""

    site: Site
    months: range
    whole: Row
    units: Sequence[Row]
    offered: Sequence[Offered]

    @cached_property
    def beside(self) -> list[Beside]:
        pairs = zip(self.months, self.offered, strict=True)
        return [Beside(month, self.whole.load(month), said) for month, said in pairs]

    @cached_property
    def over(self) -> list[Beside]:
        return [month for month in self.beside if month.over]

    @cached_property
    def heaviest(self) -> Beside | None:
        """The first of those with the most hours."""
        most = max(self.beside, key=lambda month: month.load.hours, default=None)
        return most if most and most.load.hours else None

    @cached_property
    def heaviest_on_due_dates(self) -> tuple[date, Fraction] | None:
        exact = self.whole.exact
        month = max(exact, key=lambda m: (exact[m].hours, -m), default=None)
        return (month and (first_day_of(month), exact[month].hours)) or None

    @property
    def even(self) -> Fraction:
        """The same hours, the same in each month."""
        return self.whole.total.hours / len(self.months)

    @cached_property
    def years(self) -> list[int]:
        return sorted({month // 12 for month in self.months})

    def offered_in(self, year: int) -> Fraction | None:
        said = [m.offered.hours for m in self.beside if m.month // 12 == year]
        known = [hours for hours in said if hours is not None]
        return sum(known, Fraction()) if known else None


@dataclass(frozen=True)
class Workload:
    """The years ahead from a day on, as far as a user may see; without a user, of every site."""

    as_of: date
    years: int = YEARS[0]
    user: User | None = None
    site: int | None = None
    unit: int | None = None

    @cached_property
    def months(self) -> range:
        first = month_of(self.as_of)
        return range(first, first + 12 * self.years)

    @cached_property
    def known(self) -> Known:
        return known_on(self.as_of, self.user, self.site)

    def visits(self, *, exactly: bool = False) -> Iterator[Visit]:
        """Every visit of the span; exactly: each when it is due, whatever is planned."""
        known, end = self.known, first_day_of(self.months.stop)
        for place in known.places:
            if exactly:
                yield from visits(on_its_dates(place), NO_OUTAGES, self.as_of, end)
            else:
                outages = known.outages.get(place.unit, NO_OUTAGES)
                yield from visits(place, outages, self.as_of, end)

    @cached_property
    def sites(self) -> list[SiteAhead]:
        """Each site that owes anything, or all that are asked for. Three queries more."""
        known = self.known
        planned = _by_unit(loads(self.visits(), known.hours, ON_STREAM, known.ends))
        exact = _by_unit(loads(self.visits(exactly=True), known.hours, ON_STREAM))
        units = Unit.objects.all() if self.user is None else Unit.objects.visible_to(self.user)
        by_site: dict[Site, list[Row]] = {}
        for unit in units.select_related("site").order_by("site__name", "name"):
            if self.site is None or unit.site_id == self.site:
                row = Row(unit.name, unit.pk, planned.get(unit.pk, {}), exact.get(unit.pk, {}))
                by_site.setdefault(unit.site, []).append(row)
        openings = self._openings()
        return [
            self._ahead(site, rows, openings.get(site.pk, [])) for site, rows in by_site.items()
        ]

    def _ahead(self, site: Site, rows: list[Row], openings: list[Opening]) -> SiteAhead:
        planned, exact = _joined(row.planned for row in rows), _joined(row.exact for row in rows)
        said = offered(self.months, openings, site.weekly_bench_hours, self.as_of)
        shown = [row for row in rows if self.unit is None or row.unit == self.unit]
        return SiteAhead(site, self.months, Row(site.name, None, planned, exact), shown, said)

    def _openings(self) -> dict[int, list[Opening]]:
        found: dict[int, list[Opening]] = {}
        rows = outages_for(self.user).filter(still_serving(self.as_of))
        for row in rows:
            opening = Opening(row.starts_on, row.ends_on, row.bench_hours, row.weekly_hours)
            found.setdefault(row.site_id, []).append(opening)
        return found

    def as_dicts(self) -> Iterator[dict[str, Any]]:
        """A row a unit and month, empty months too."""
        for site in self.sites:
            for row in site.units:
                for beside in site.beside:
                    yield _said(site, row, beside)


def _by_unit(found: Mapping[tuple[int, int], Load]) -> dict[int, dict[int, Load]]:
    grouped: dict[int, dict[int, Load]] = {}
    for (unit, month), load in found.items():
        grouped.setdefault(unit, {})[month] = load
    return grouped


def _joined(every: Iterable[Months]) -> Months:
    joined: dict[int, Load] = {}
    for months in every:
        for month, load in months.items():
            joined[month] = joined.get(month, NO_LOAD).plus(load)
    return joined


def _said(site: SiteAhead, row: Row, beside: Beside) -> dict[str, Any]:
    load, exact = row.load(beside.month), row.exact.get(beside.month, NO_LOAD)
    hours = beside.offered.hours
    return {
        "site": site.site.name,
        "unit": row.name,
        "month": f"{beside.first_on:%Y-%m}",
        "hours": round_hours(load.hours),
        "visits": load.visits,
        "hours_on_stream": round_hours(load.on_stream_hours),
        "jobs_on_stream": load.on_stream,
        "jobs_without_hours": load.missing,
        "hours_on_due_dates": round_hours(exact.hours),
        "visits_on_due_dates": exact.visits,
        "site_hours": round_hours(beside.load.hours),
        "site_hours_offered": None if hours is None else round_hours(hours),
        "site_days_nobody_spoke_of": beside.offered.unsaid_days,
    }


def round_hours(hours: Fraction) -> Decimal:
    """To a hundredth of an hour, half up: hours spread over days seldom come out even."""
    return Decimal((hours * 100 + Fraction(1, 2)) // 1) / 100
