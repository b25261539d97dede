"""The drawings of the workload ahead: a site's months, and a row for each of its units."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple
from urllib.parse import urlencode

from django.urls import reverse

from fleet.calc.loads import NO_LOAD, Load, first_day_of
from fleet.drawings.month_columns import Column, Down, month_columns, months_head
from fleet.drawings.scene import Scene
from fleet.reports.workload import Beside, Row, SiteAhead, Workload
from fleet.reports.workload_words import (
    beside_words,
    bunching_words,
    counted,
    heaviest_words,
    hours_words,
    load_words,
    month_words,
    offer_words,
)

TALL, EXACT, LOW = 132, 84, 64  # pixels: the site as planned, on its due dates, a unit


@dataclass(frozen=True)
class YearRow:
    """One line of the table beneath: its hours and visits by year, and in all."""

    name: str
    cells: list[tuple[str, str]]


class MonthLine(NamedTuple):
    """A month of the whole site in words; the drawing says no more than these."""

    named: str
    url: str
    load: str
    hours: str
    offered: str
    over: str


@dataclass(frozen=True)
class Drawn:
    """Everything the page says of one site."""

    ahead: SiteAhead
    heaviest: str
    bunching: str
    head: Scene
    whole: Scene
    exact: Scene
    units: list[tuple[str, Scene]]
    table: list[YearRow]
    over: list[MonthLine]
    months: list[MonthLine]


def drawn(work: Workload, site: SiteAhead) -> Drawn:
    first, months = first_day_of(site.months.start), site.months
    top = max((_column(month).tallest for month in site.beside), default=0)
    exact = [_exact(site, month) for month in months]
    top = max(top, *(column.tallest for column in exact))
    to = _addresses(work, {"site": site.site.pk})
    planned = [_column(month, to) for month in site.beside]
    rows = [(row, [_unit_column(work, row, month) for month in months]) for row in site.units]
    most = max((column.tallest for _, columns in rows for column in columns), default=0)
    name = site.site.name
    return Drawn(
        ahead=site,
        heaviest=heaviest_words(site),
        bunching=bunching_words(site),
        head=months_head(first, len(months)),
        whole=month_columns(f"{name}, as planned", first, planned, height=TALL, top=top),
        exact=month_columns(f"{name}, on due dates", first, exact, height=EXACT, top=top),
        units=[(row.name, _unit_scene(work, row, columns, most)) for row, columns in rows],
        table=_by_year(site),
        over=[_line(month, to) for month in site.over],
        months=[_line(month, to) for month in site.beside],
    )


def _unit_scene(work: Workload, row: Row, columns: list[Column], most: float) -> Scene:
    first = first_day_of(work.months.start)
    chances = work.known.chances.of(row.unit) if row.unit else ()
    down = [Down(chance.starts_on, chance.ends_on, chance.name) for chance in chances]
    return month_columns(row.name, first, columns, height=LOW, top=most, down=down)


def _addresses(work: Workload, place: dict[str, int]) -> Callable[[date], str]:
    """Where each month's visits are listed."""

    def address(day: date) -> str:
        asked = {**place, "years": work.years, "month": f"{day:%Y-%m}"}
        return f"{reverse('workload_month')}?{urlencode(asked)}"

    return address


def _column(month: Beside, to: Callable[[date], str] | None = None) -> Column:
    load, hours = month.load, month.offered.hours
    return Column(
        bench=float(load.hours),
        on_stream=float(load.on_stream_hours),
        offered=None if hours is None else float(hours),
        is_over=bool(month.over),
        has_unknown=bool(load.missing),
        label=beside_words(month),
        href=to(month.first_on) if to and load != NO_LOAD else "",
    )


def _exact(site: SiteAhead, month: int) -> Column:
    return _plain(site.whole.exact.get(month, NO_LOAD))


def _unit_column(work: Workload, row: Row, month: int) -> Column:
    load, day = row.load(month), first_day_of(month)
    if load == NO_LOAD or row.unit is None:
        return _plain(load)
    label = f"{row.name}, {month_words(day)}: {load_words(load)}"
    return _plain(load, label, _addresses(work, {"unit": row.unit})(day))


def _plain(load: Load, label: str = "", href: str = "") -> Column:
    return Column(
        float(load.hours),
        float(load.on_stream_hours),
        has_unknown=bool(load.missing),
        label=label,
        href=href,
    )


def _by_year(site: SiteAhead) -> list[YearRow]:
    rows = [*site.units, site.whole]
    found = [
        YearRow(
            row.name if row.unit else f"All of {row.name}",
            [_cell(load) for load in (*map(row.in_year, site.years), row.total)],
        )
        for row in rows
    ]
    offers = [site.offered_in(year) for year in site.years]
    cells = [("not given" if hours is None else hours_words(hours), "") for hours in offers]
    return [*found, YearRow("Bench hours offered", [*cells, ("", "")])]


def _cell(load: Load) -> tuple[str, str]:
    """Hours at the bench, and beneath them what else there is."""
    if load == NO_LOAD:
        return "none", ""
    more = [counted(load.visits, "visit")] if load.visits else []
    more += [f"{load.on_stream} on stream"] if load.on_stream else []
    more += [f"{load.missing} without hours"] if load.missing else []
    return hours_words(load.hours), ", ".join(more)


def _line(month: Beside, to: Callable[[date], str]) -> MonthLine:
    return MonthLine(
        named=month_words(month.first_on),
        url=to(month.first_on),
        load=load_words(month.load) if month.load != NO_LOAD else "nothing",
        hours=hours_words(month.load.hours),
        offered=offer_words(month),
        over=hours_words(month.over) if month.over else "",
    )
