"""The arithmetic of one setting of one device: every number of the review, worked out in the open.

What the fleet lends it (the prior of its family, the rate of resets) is what the last screening
kept; everything else is the device's own records.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import inf

from inspections.calc.chance import rate_of_others, tail_against_others
from inspections.calc.drift import Trend, years
from inspections.calc.moderated import Prior, judge
from inspections.calc.movements import RESET, SERVICE, Series, Step
from inspections.calc.projection import NoProjection, Projection, project
from inspections.calc.screening import ENOUGH_OVERHAULS
from inspections.calc.series_numbers import Numbers, resolution_in
from inspections.calc.service_drift import ENOUGH
from inspections.calc.verdicts import round_half_away
from inspections.calc.visits import SET_PRESSURE, Reading
from inspections.models import Screening
from inspections.reports.cuts import cut_words
from inspections.reports.settings import SettingRow, movement_words


@dataclass(frozen=True)
class Move:
    """One step: from what, to what, after how long, and by how much or why it is not said."""

    step: Step
    before: str
    after: str
    years: Fraction | None
    moved: str
    why_not: str


@dataclass(frozen=True)
class DriftSum:
    """The moderated t of one drift: own numbers, what the family lends, and what follows."""

    unit: str
    n: int
    per_year: float
    variance: float
    spread: float
    prior: Prior | None
    t: float | None = None
    df: float | None = None
    p: float | None = None
    moderated: float | None = None


@dataclass(frozen=True)
class ResetSum:
    """k of n shop resets beyond the resolution, against the rest of the fleet."""

    k: int
    n: int
    rate: float
    p: float


@dataclass(frozen=True)
class Arithmetic:
    """Everything one setting's numbers stand on; None where there is nothing to reckon with."""

    row: SettingRow
    service: Sequence[Move]
    resets: Sequence[Move]
    drift: DriftSum | None
    changes: int
    trend: Trend | None
    reset_sum: ResetSum | None
    projection: Projection | NoProjection | None

    @property
    def lacks(self) -> int:
        """How many changes more a drift would need."""
        return max(0, ENOUGH - self.changes)


def arithmetic_of(row: SettingRow, screening: Screening | None, due_on: date | None) -> Arithmetic:
    """`due_on`: the day the first pop is projected to; None = it owes no test by any day."""
    numbers = row.numbers
    prior = _prior(screening, numbers.family)
    return Arithmetic(
        row=row,
        service=list(_moves(row.one, SERVICE)),
        resets=list(_moves(row.one, RESET)),
        drift=_drift(numbers, prior),
        changes=numbers.changes,
        trend=row.one.found_trend,
        reset_sum=_resets(row.setting, numbers, screening),
        projection=_projection(row, prior, due_on),
    )


def _prior(screening: Screening | None, family: str) -> Prior | None:
    kept = screening.priors.get(family) if screening else None
    if kept is None:
        return None
    df, variance, pooled = kept
    return Prior(inf if df is None else df, variance, inf if pooled is None else pooled)


def _moves(one: Series, kind: str) -> Iterator[Move]:
    for step in one.steps:
        if step.kind != kind:
            continue
        first, last = _ends(step)
        time = years(step.end.on) - years(step.start.on) if kind == SERVICE else None
        yield Move(step, _read(first), _read(last), time, movement_words(step), cut_words(step))


def _ends(step: Step) -> tuple[Reading | None, Reading | None]:
    if step.kind == SERVICE:
        return step.start.as_left, step.end.as_found
    return step.start.as_found, step.end.as_left


def _read(reading: Reading | None) -> str:
    """As typed; of a pop also what it is of its cold test pressure."""
    if reading is None:
        return ""
    if reading.deviation is None:
        return str(reading)
    return f"{reading}, {round_half_away(reading.deviation, 2):+} %"


def _drift(numbers: Numbers, prior: Prior | None) -> DriftSum | None:
    b, s2, v = numbers.per_year, numbers.variance, numbers.spread
    if b is None or s2 is None or v is None:
        return None
    unit = numbers.family.rpartition(" in ")[2]
    own = DriftSum(unit, numbers.changes, b, s2, v, prior)
    if prior is None:
        return own
    said = judge(b, s2, numbers.changes - 1, v, prior)
    return DriftSum(
        *(unit, numbers.changes, b, s2, v, prior),
        t=float(said.t),
        df=float(said.df),
        p=float(said.p),
        moderated=float(said.variance),
    )


def _resets(setting: str, numbers: Numbers, screening: Screening | None) -> ResetSum | None:
    fleet = screening.rates.get(setting) if screening else None
    k, n = numbers.resets, numbers.reset_of
    if fleet is None or n < ENOUGH_OVERHAULS:
        return None
    rate, p = rate_of_others(k, n, *fleet), tail_against_others(k, n, *fleet)
    return ResetSum(k, n, float(rate), float(p))


def _projection(
    row: SettingRow, prior: Prior | None, due_on: date | None
) -> Projection | NoProjection | None:
    if row.setting != SET_PRESSURE:
        return None
    if due_on is None:
        return NoProjection("no test is owed by any day")
    if prior is None:
        return NoProjection("the fleet has not been screened yet")
    return project(row.one, due_on, prior, resolution_in(row.one))
