"""First pops of the last years, each with what it may have in common with others.

A few queries, whatever the number of devices. The verdict is the one that the lock took down; a
pop without one cannot be counted on either side.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from fleet.models import Outage, OutageUnit
from inspections.calc.common_cause import Outcome
from inspections.calc.verdicts import HIGH, LOW
from inspections.calc.visits import SET_PRESSURE
from inspections.models import Inspection, PopStage, PopTest

YEARS = 5
SIGNS = {HIGH: 1, LOW: -1, "in": 0}
COLUMNS = ("pk", "device", "device__model", "done_on", "shop", "gauge", "position__unit")


class _Row(NamedTuple):
    inspection: int
    device: int
    model: int | None
    on: date
    shop: str
    gauge: str
    unit: int | None


def recent(as_of: date) -> date:
    """The first day whose pops and movements are looked at together."""
    return as_of.replace(year=as_of.year - YEARS, day=min(as_of.day, 28))


def first_pops(as_of: date) -> Iterator[Outcome]:
    """One outcome for each visit of the last years whose first pop was judged, by device and day;
    models by their key, outages by theirs."""
    days = (recent(as_of), as_of)
    records = Inspection.objects.standing().filter(done_on__gt=days[0], done_on__lte=days[1])
    outages, verdicts = _outages(), _verdicts(days)
    for row in records.order_by("device", "done_on", "ref").values_list(*COLUMNS):
        yield from _outcome(_Row(*row), outages, verdicts.get(row[0], ""))


def _outcome(
    row: _Row, outages: Mapping[int, Sequence[tuple[date, date, str]]], verdict: str
) -> Iterator[Outcome]:
    if verdict in SIGNS:
        yield Outcome(
            (row.device, SET_PRESSURE),
            SET_PRESSURE,
            row.on,
            SIGNS[verdict],
            model=str(row.model or ""),
            outage=_outage_of(row, outages),
            bench=" ".join(row.shop.split()),
            gauge=" ".join(row.gauge.split()),
        )


def _verdicts(days: tuple[date, date]) -> dict[int, str]:
    """Of the first pop as found of every record of these days, standing or not."""
    pops = PopTest.objects.filter(
        stage=PopStage.AS_FOUND, inspection__done_on__gt=days[0], inspection__done_on__lte=days[1]
    )
    return dict(pops.order_by("-order").values_list("inspection_id", "verdict"))


def _outages() -> Mapping[int, list[tuple[date, date, str]]]:
    """First day, last day and key of every outage of each unit."""
    named = {one.pk: (one.starts_on, one.ends_on, str(one.pk)) for one in Outage.objects.all()}
    found = defaultdict(list)
    for outage, unit in OutageUnit.objects.order_by("pk").values_list("outage", "unit"):
        found[unit].append(named[outage])
    return found


def _outage_of(row: _Row, outages: Mapping[int, Sequence[tuple[date, date, str]]]) -> str:
    if row.unit is None:
        return ""
    return next((key for a, b, key in outages.get(row.unit, ()) if a <= row.on <= b), "")
