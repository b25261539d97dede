"""First pops of a fleet, grouped: by model, by service, by unit, by year.

A pop belongs to the unit and the service of the position that its device stood at that day. Pops
that are alike are counted by the database, so that a page costs what its groups cost, not what
their pops do. Verdicts are those that were taken down; none is reckoned from a rounded percent.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, NamedTuple

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import ExtractYear

from fleet.models import AuditHead, DeviceModel, PositionDuty, Unit, User
from inspections.actions.assess import STUCK as STUCK_RESULTS
from inspections.calc.populations import STUCK, FirstPop, Population, populations
from inspections.calc.verdicts import UNDECIDED
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
    """`count` pops that are alike and belong to the group of this key."""

    key: Any
    deviation: Decimal | None
    bound: str
    verdict: str
    result: str
    count: int


def population_rows(as_of: date, user: User, ask: PopulationAsk) -> list[Population]:
    """The groups of what is asked for, worst first.

    They are counted again only when something was written since: whatever is read here is on the
    audit chain, so the chain's head says whether anything was. Without a chain, each time.
    """
    head, sites = AuditHead.objects.first(), tuple(sorted(user.site_ids()))
    if head and head.number:
        return list(_kept(head.digest, as_of, sites, ask))
    return _populations(as_of, sites, ask)


@lru_cache(maxsize=16)
def _kept(
    head: str, as_of: date, sites: tuple[int, ...], ask: PopulationAsk
) -> Sequence[Population]:
    return _populations(as_of, sites, ask)


def _populations(as_of: date, sites: tuple[int, ...], ask: PopulationAsk) -> list[Population]:
    rows = [_Row(*row) for row in _counted(_pops(as_of, sites, ask), ask)]
    return populations(_grouped(rows, ask.by))


def _pops(as_of: date, sites: tuple[int, ...], ask: PopulationAsk) -> QuerySet[PopTest]:
    """First pops of standing records of these sites, and of records that have no site yet."""
    seen = Q(site__in=sites) | Q(site=None) if sites else Q(site__in=())
    records = Inspection.objects.standing().filter(seen, done_on__lte=as_of)
    if ask.site:
        records = records.filter(site=ask.site)
    if ask.model:
        records = records.filter(device__model=ask.model)
    return PopTest.objects.filter(inspection__in=records, stage=Stage.AS_FOUND, order=1)


def _counted(pops: QuerySet[PopTest], ask: PopulationAsk) -> QuerySet:
    """How many pops are alike in each group, and the group's key."""
    if ask.unit:
        pops = pops.alias(unit=_of_the_day("unit")).filter(unit=ask.unit)
    if ask.service:
        pops = pops.alias(fluid=_of_the_day("fluid")).filter(fluid=ask.service)
    key = {
        "model": F("inspection__device__model"),
        "service": _of_the_day("fluid"),
        "unit": _of_the_day("unit"),
        "year": ExtractYear("inspection__done_on"),
    }[ask.by]
    alike = ("group", "deviation_percent", "bound", "verdict", "result")
    counted = pops.order_by().values(group=key).values(*alike).annotate(alike=Count("pk"))
    return counted.values_list(*alike, "alike")


def _of_the_day(name: str) -> Subquery:
    """The unit or fluid of the position of a pop on its day; nothing where no duty says."""
    begun = Q(from_on=None) | Q(from_on__lte=OuterRef("inspection__done_on"))
    duties = PositionDuty.objects.filter(begun, position=OuterRef("inspection__position"))
    last = duties.order_by(F("from_on").desc(nulls_last=True), "-pk")
    return Subquery(last.values(name)[:1])


def _grouped(rows: list[_Row], by: str) -> Iterator[tuple[Any, str, FirstPop]]:
    named: dict[Any, str] = {}
    if by in ("model", "unit"):
        model = DeviceModel if by == "model" else Unit
        named = {one.pk: str(one) for one in model.objects.in_bulk({r.key for r in rows}).values()}
    for row in rows:
        key = row.key or "" if by == "service" else row.key
        name = named.get(key, UNKNOWN) if named or by in ("model", "unit") else str(key or UNKNOWN)
        yield key, name, _pop(row)


def _pop(row: _Row) -> FirstPop:
    """One that was not asked to lift beyond its band is no failure: nobody can say."""
    deviation = None if row.deviation is None else Fraction(row.deviation)
    is_stuck = row.result in STUCK_RESULTS or bool(row.bound)
    verdict = STUCK if is_stuck and row.verdict != UNDECIDED else row.verdict
    return FirstPop(deviation, bool(row.bound), verdict, row.count)


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
