"""Where the first pop will be on a day to come, and the chance that it is out of its band.

From the last as-left, along the drift in service: mean = as-left + b T, variance = s2 (1 + T^2 v),
Student's t with the moderated degrees of freedom. Percent of the cold test pressure throughout.
It questions an interval; it never sets one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from scipy.stats import t as student

from inspections.calc.drift import years
from inspections.calc.moderated import Prior, judge
from inspections.calc.movements import RESET, SERVICE, Series, Step
from inspections.calc.service_drift import Drift, drift
from inspections.calc.verdicts import deviation_percent
from inspections.calc.visits import SET_PRESSURE, Reading, method_of

ASSUMPTIONS = (
    "it goes on as it did: the same service, a straight line on the days in service",
    "it is not opened, adjusted or repaired before that day",
    "the scatter about the line is that of its own past changes and of its family, and does not"
    " grow with the time in service",
    "first pops scatter as readings do (Student's t): sticking and deposits are not foreseen",
    "the band and the cold test pressure are those of the last as-left pop",
)


@dataclass(frozen=True)
class Projection:
    """On `on`, after `years` in service since the last as-left: percent of CDTP, chances 0 to 1.

    `low` and `high` hold nine in ten of such first pops; `scatter` is the standard error of the
    predicted pop.
    """

    on: date
    years: float
    expected: float
    scatter: float
    df: float
    low: float
    high: float
    band: tuple[Fraction, Fraction]
    early_chance: float
    late_chance: float
    n: int
    assumptions: tuple[str, ...] = ASSUMPTIONS

    @property
    def chance_out(self) -> float:
        return self.early_chance + self.late_chance


@dataclass(frozen=True)
class NoProjection:
    """Why no number is given."""

    reason: str


def project(
    pops: Series, on: date, prior: Prior, resolution: Fraction = Fraction(0)
) -> Projection | NoProjection:
    """The first pop of `on`, from the set-pressure series of one device and its family's prior.

    Only changes since the last change of method, new spring or disc count. `resolution` is that of
    the pops in percent of CDTP, 0 when it is not known.
    """
    if pops.setting != SET_PRESSURE:
        raise ValueError(f"{pops.setting} has no band to leave")
    steps = since_cut(pops)
    why_not = _obstacle(pops, on, steps) or _too_coarse(pops, resolution)
    if why_not:
        return NoProjection(why_not)
    moved = service_drift(steps, resolution)
    left = pops.last_as_left
    if moved is None:
        counted = sum(step.change is not None for step in steps)
        return NoProjection(f"not enough readings: {counted} changes in service, 3 are needed")
    assert pops.last is not None and left is not None and left.deviation is not None
    return _predicted(left, left.deviation, moved, prior, on, years(on) - years(pops.last.on))


def since_cut(pops: Series) -> list[Step]:
    """The steps in service since the method or a part last changed, oldest first."""
    kept: list[Step] = []
    for step in pops.steps:
        # Asked of the visits, not of the step's own cut: that may only say what was missing.
        renewed = step.kind == RESET and step.start.renewed
        if renewed or method_of(step.start) != method_of(step.end):
            kept = []
        elif step.kind == SERVICE:
            kept.append(step)
    return kept


def service_drift(steps: Sequence[Step], resolution: Fraction = Fraction(0)) -> Drift | None:
    """Drift of the changes among these steps in service, in the unit of the last change."""
    changed = [(step, step.change) for step in steps if step.change is not None]
    if not changed:
        return None
    unit = changed[-1][1].unit
    return drift(
        [change.to(unit).magnitude for _, change in changed],
        [years(step.end.on) - years(step.start.on) for step, _ in changed],
        resolution,
    )


def _obstacle(pops: Series, on: date, steps: Sequence[Step]) -> str:
    """Why the last as-left cannot be projected from; "" when it can."""
    last, left = pops.last, pops.last_as_left
    if last is None or left is None:
        return "the last visit left no pop on record"
    if left.no_lift:
        return f"it did not lift when it was left, {last.on} ({last.ref})"
    if left.deviation is None or left.band is None:
        return f"no cold test pressure or no band on record, {last.on} ({last.ref})"
    if on <= last.on:
        return f"{on} is not after the last as-left of {last.on}"
    bounds = [step for step in steps if step.bound is not None]
    if bounds:
        end = bounds[-1].end
        return f"it did not lift on {end.on} ({end.ref}): how far it had moved is not known"
    if last.renewed:
        return f"{last.renewed} on {last.on} ({last.ref}): its past is another's"
    return ""


def _too_coarse(pops: Series, resolution: Fraction) -> str:
    """Read more coarsely than the band is wide, a pop cannot be told to be in or out of it."""
    left = pops.last_as_left
    assert left is not None and left.band is not None and left.cdtp is not None
    low, high = sorted(deviation_percent(end, left.cdtp) for end in (left.band.low, left.band.high))
    if resolution < high - low:
        return ""
    return (
        f"pops are read to {float(resolution):.3g} % and the band is {float(high - low):.3g} % wide"
    )


def _predicted(
    left: Reading, start: Fraction, moved: Drift, prior: Prior, on: date, time: Fraction
) -> Projection | NoProjection:
    assert left.band is not None and left.cdtp is not None
    band = sorted(deviation_percent(end, left.cdtp) for end in (left.band.low, left.band.high))
    early, late = band
    b, s2, v = float(moved.per_year), float(moved.variance), float(moved.spread)
    judged = judge(b, s2, moved.df, v, prior)
    df = float(judged.df)
    expected = float(start) + b * float(time)
    scatter = (float(judged.variance) * (1 + float(time) ** 2 * v)) ** 0.5
    if scatter == 0:
        return NoProjection("every change was alike, and how finely they were read is not known")
    chances = (
        float(student.cdf((float(early) - expected) / scatter, df)),
        float(student.sf((float(late) - expected) / scatter, df)),
    )
    reach = float(student.ppf(0.95, df)) * scatter
    return Projection(
        on,
        float(time),
        expected,
        scatter,
        df,
        expected - reach,
        expected + reach,
        (early, late),
        *chances,
        n=moved.n,
    )
