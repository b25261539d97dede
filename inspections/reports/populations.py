"""First pops of a fleet, grouped: by model, by service, by unit, by year.

A pop belongs to the unit and the service of the position that its device stood at that day. Three
queries, whatever the number of groups.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from django.db.models import QuerySet

from fleet.models import DeviceModel, PositionDuty, Unit, User
from inspections.actions.assess import STUCK as STUCK_RESULTS
from inspections.calc.populations import STUCK, FirstPop, Population, populations
from inspections.models import Inspection, PopTest, Stage

UNKNOWN = "not recorded"
GROUPINGS = {"model": "Model", "service": "Service", "unit": "Unit", "year": "Year"}
COLUMNS = (
    *("group", "first_pops", "judged", "high", "low", "stuck", "failed_share", "share_low"),
    *("share_high", "median_percent", "lower_quartile", "upper_quartile", "no_lift"),
)


@dataclass(frozen=True)
class PopulationAsk:
    """What is wanted; empty means any. `by`: one of GROUPINGS."""

    by: str = "model"
    site: int | None = None
    unit: int | None = None
    model: int | None = None
    service: str = ""


class _Row(NamedTuple):
    deviation: Decimal | None
    bound: str
    verdict: str
    result: str
    on: date
    model: int | None
    position: int | None


def population_rows(as_of: date, user: User, ask: PopulationAsk) -> list[Population]:
    """The groups of what is asked for, worst first."""
    rows = [_Row(*row) for row in _pops(as_of, user, ask)]
    duties = _Duties({row.position for row in rows if row.position})
    models = {pk: str(model) for pk, model in DeviceModel.objects.in_bulk().items()}
    units = {pk: str(unit) for pk, unit in Unit.objects.in_bulk().items()}
    return populations(_grouped(rows, ask, duties, models, units))


def _pops(as_of: date, user: User, ask: PopulationAsk) -> QuerySet:
    """First pops of standing records, by devices of the sites this person sees."""
    records = Inspection.objects.standing().visible_to(user).filter(done_on__lte=as_of)
    if ask.site:
        records = records.filter(site=ask.site)
    if ask.model:
        records = records.filter(device__model=ask.model)
    pops = PopTest.objects.filter(inspection__in=records, stage=Stage.AS_FOUND, order=1)
    return pops.values_list(
        *("deviation_percent", "bound", "verdict", "result", "inspection__done_on"),
        *("inspection__device__model", "inspection__position"),
    )


class _Duties:
    """The unit and fluid of each position on a day, read once."""

    def __init__(self, positions: set[int]) -> None:
        self.held: dict[int, list[tuple[date, int | None, str]]] = defaultdict(list)
        wanted = sorted(positions)
        for start in range(0, len(wanted), 1000):
            rows = PositionDuty.objects.filter(position__in=wanted[start : start + 1000])
            for place, since, unit, fluid in rows.order_by("pk").values_list(
                "position", "from_on", "unit", "fluid"
            ):
                self.held[place].append((since or date.min, unit, fluid))
        for spans in self.held.values():
            spans.sort(key=lambda span: span[0])

    def on(self, position: int | None, day: date) -> tuple[int | None, str]:
        spans = self.held.get(position or 0, [])
        place = bisect_right([since for since, _, _ in spans], day) - 1
        return spans[place][1:] if place >= 0 else (None, "")


def _grouped(
    rows: list[_Row],
    ask: PopulationAsk,
    duties: _Duties,
    models: dict[Any, str],
    units: dict[Any, str],
) -> Iterator[tuple[Any, str, FirstPop]]:
    for row in rows:
        unit, fluid = duties.on(row.position, row.on)
        if (ask.unit and unit != ask.unit) or (ask.service and fluid != ask.service):
            continue
        key, name = {
            "model": (row.model, models.get(row.model, UNKNOWN)),
            "service": (fluid, fluid or UNKNOWN),
            "unit": (unit, units.get(unit, UNKNOWN)),
            "year": (row.on.year, str(row.on.year)),
        }[ask.by]
        yield key, name, _pop(row)


def _pop(row: _Row) -> FirstPop:
    deviation = None if row.deviation is None else Fraction(row.deviation)
    verdict = STUCK if row.result in STUCK_RESULTS or row.bound else row.verdict
    return FirstPop(deviation, bool(row.bound), verdict)


def as_dict(group: Population) -> dict[str, Any]:
    share, quartiles = group.share, group.quartiles or (None, None, None)
    percent = [None if q is None else Decimal(f"{float(q):.2f}") for q in quartiles]
    shares = (share.rate, share.low, share.high) if share else (None, None, None)
    rates = [None if s is None else Decimal(f"{s:.4f}") for s in shares]
    return dict(
        zip(
            COLUMNS,
            (
                *(group.name, group.n, group.judged, group.count("high"), group.count("low")),
                *(group.count(STUCK), *rates, percent[1], percent[0], percent[2]),
                len(group.bounds),
            ),
            strict=True,
        )
    )
