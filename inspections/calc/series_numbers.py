"""What a whole fleet is screened by: the few numbers of one series.

Service movements that can be judged are those with an exact change, in the unit of comparison of
the last of them. Bounds and cuts give no change; movements measured otherwise before that are
another family's. Of resets the ones in the shop count, where turning is not the work itself.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from fleet.calc.units import LENGTH, PERCENT, Quantity
from inspections.calc.drift import years
from inspections.calc.flags import RESTORED_EVERY_TIME, Looking, beyond_resolution
from inspections.calc.movements import RESET, SERVICE, Series, Step
from inspections.calc.readings import datum_key, resolution_of
from inspections.calc.service_drift import drift
from inspections.calc.visits import SET_PRESSURE

# Variances are pooled in one unit a dimension; what is not listed stays in the unit it has.
UNIT_OF = {LENGTH: "mm", PERCENT: "%"}
DECIMALS = re.compile(r"[.,](\d+)")


Move = tuple[str, int, str]  # day, sign (0: within the resolution), datum


@dataclass(frozen=True)
class Numbers:
    """One series in numbers. `family`: what its variance may be pooled with, "" without changes.

    changes: service movements that can be judged. per_year, variance, spread, at_floor: see
    `inspections.calc.service_drift`; None with too few. resets: of `reset_of` shop resets, those
    beyond the resolution. moved: of a setting, its last movement in service from each datum.
    """

    family: str = ""
    changes: int = 0
    per_year: float | None = None
    variance: float | None = None
    spread: float | None = None
    at_floor: bool = False
    resets: int = 0
    reset_of: int = 0
    moved: tuple[Move, ...] = ()


def numbers_of(one: Series, looking: Looking) -> Numbers:
    """The numbers of one series, in the unit its family is pooled in."""
    resets, reset_of = resets_of(one, looking)
    moves, moved = tuple(moves_of(one, looking)), judged_steps(one)
    if not moved:
        return Numbers(resets=resets, reset_of=reset_of, moved=moves)
    unit = unit_of(moved[-1])
    changes = [step.change.to(unit).magnitude for step in moved if step.change]
    times = [years(step.end.on) - years(step.start.on) for step in moved]
    found = drift(changes, times, _step_of(one, moved, looking, unit))
    return Numbers(
        family=f"{one.setting} in {unit}"[:60],
        changes=found.n if found else sum(time > 0 for time in times),
        per_year=float(found.per_year) if found else None,
        variance=float(found.variance) if found else None,
        spread=float(found.spread) if found else None,
        at_floor=found.at_floor if found else False,
        resets=resets,
        reset_of=reset_of,
        moved=moves,
    )


def moves_of(one: Series, looking: Looking) -> Iterator[Move]:
    """The last movement in service from each datum; pops are counted from none."""
    last: dict[str, Move] = {}
    for step in one.steps:
        found = step.end.as_found
        if step.kind != SERVICE or not step.change or not found or one.setting == SET_PRESSURE:
            continue
        sign = (step.change.magnitude > 0) - (step.change.magnitude < 0)
        beyond = beyond_resolution(step.change, looking)
        datum = " ".join(datum_key(found.datum))
        last[datum] = (step.end.on.isoformat(), sign if beyond else 0, datum)
    yield from last.values()


def judged_steps(one: Series) -> list[Step]:
    """Service movements with an exact change, of the dimension of the last one."""
    moved = [step for step in one.steps if step.kind == SERVICE and step.change]
    return [
        step
        for step in moved
        if step.change and moved[-1].change and step.change.dimension == moved[-1].change.dimension
    ]


def unit_of(step: Step) -> str:
    """The unit that a movement of this kind is pooled in."""
    assert step.change is not None
    return UNIT_OF.get(step.change.dimension, step.change.unit)


def resets_of(one: Series, looking: Looking) -> tuple[int, int]:
    """Shop resets beyond the resolution, and all that can be judged."""
    if one.setting in RESTORED_EVERY_TIME:
        return 0, 0
    made = [step.change for step in one.steps if step.kind == RESET and step.change]
    return sum(beyond_resolution(change, looking) for change in made), len(made)


def resolution_in(pops: Series) -> Fraction:
    """How finely the pops of a series were typed, in percent; nought where none moved."""
    moved = judged_steps(pops)
    return max((_typed_percent(step) for step in moved), default=Fraction(0))


def _step_of(one: Series, moved: list[Step], looking: Looking, unit: str) -> Fraction:
    """The resolution of a movement in that unit; nought where none is known."""
    if one.setting == SET_PRESSURE:
        return max(_typed_percent(step) for step in moved)
    assert moved[-1].change is not None
    step = resolution_of(moved[-1].change, looking.resolution)
    known = step is not None and step.dimension == moved[-1].change.dimension
    return step.to(unit).magnitude if step is not None and known else Fraction(0)


def _typed_percent(step: Step) -> Fraction:
    """How finely the coarser of two pops was typed, in percent of its cold test pressure."""
    ends = (step.start.as_left, step.end.as_found)
    return max(
        typed_step(end.quantity) / end.cdtp.to(end.quantity.unit).magnitude * 100
        for end in ends
        if end is not None and end.cdtp is not None
    )


def typed_step(quantity: Quantity) -> Fraction:
    """One of the last decimal that somebody typed, in the unit of the quantity."""
    typed = DECIMALS.search(quantity.text)
    return Fraction(1, 10 ** len(typed.group(1))) if typed else Fraction(1)
