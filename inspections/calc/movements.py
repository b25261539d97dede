"""How one setting of one device moved: in service, and in the shop.

Service movement = as-found(n+1) - as-left(n); shop reset = as-left(n) - as-found(n). Settings
move in the unit of the later reading, `set_pressure` in percent of the cold test pressure of the
day. Nothing is subtracted across a change of datum or, for pops, of method: there the series is
cut, and the cut says why. A pop that never came ("no lift at P") gives a bound, not a movement.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleet.calc.units import Quantity
from inspections.calc.drift import Trend, trend
from inspections.calc.readings import datum_key, same_datum
from inspections.calc.verdicts import HIGH, LOW
from inspections.calc.visits import SET_PRESSURE, Overhaul, Reading, method_of

SERVICE, RESET = "service_movement", "shop_reset"
DATUM, METHOD, PART_RENEWED, MISSING = "datum", "method", "part_renewed", "missing"


@dataclass(frozen=True)
class Cut:
    """Why two neighbouring readings give no movement."""

    kind: str
    reason: str


@dataclass(frozen=True)
class Step:
    """From one reading to the next: exactly one of `change`, `bound` and `cut` is given.

    A bound comes from a pop that did not lift: the service movement is more than it, the shop
    reset less. `start` and `end` are the two visits; on a shop reset they are the same one.
    """

    kind: str
    start: Overhaul
    end: Overhaul
    change: Quantity | None = None
    bound: Quantity | None = None
    cut: Cut | None = None


@dataclass(frozen=True)
class Series:
    """Everything one setting of one device did, oldest first.

    The `last_*` values are the last visit's own: what it did not record is None, never an older
    reading. `n` counts the visits with any reading of this setting. Counts are of first pops
    outside the band of their day; `found_trend` is of the as-found values since the last cut.
    """

    setting: str
    overhauls: tuple[Overhaul, ...]
    steps: tuple[Step, ...]
    n: int
    high_count: int
    low_count: int
    found_trend: Trend | None

    @property
    def last(self) -> Overhaul | None:
        return self.overhauls[-1] if self.overhauls else None

    @property
    def last_as_found(self) -> Reading | None:
        return self.last.as_found if self.last else None

    @property
    def last_as_left(self) -> Reading | None:
        return self.last.as_left if self.last else None

    @property
    def last_service_movement(self) -> Step | None:
        """The step that ended at the last visit, cut or not."""
        return self._last_step(SERVICE)

    @property
    def last_shop_reset(self) -> Step | None:
        return self._last_step(RESET)

    @property
    def last_deviation(self) -> Fraction | None:
        """Exact percent of the last first pop; None for a setting and for a pop that never came."""
        found = self.last_as_found
        return found.deviation if found and not found.no_lift else None

    @property
    def out_of_tolerance_count(self) -> int:
        return self.high_count + self.low_count

    def _last_step(self, kind: str) -> Step | None:
        return next((step for step in reversed(self.steps) if step.kind == kind), None)


def series(setting: str, overhauls: Sequence[Overhaul]) -> Series:
    """The series of one device's setting; the visits may come in any order.

    Give only visits that read the setting or should have: no ring is read in an in-place test.
    """
    ordered = tuple(sorted(overhauls, key=lambda o: (o.on, o.ref)))
    steps = tuple(_steps(setting, ordered))
    found = [o.as_found.verdict for o in ordered if o.as_found]
    return Series(
        setting,
        ordered,
        steps,
        n=sum(o.as_found is not None or o.as_left is not None for o in ordered),
        high_count=found.count(HIGH),
        low_count=found.count(LOW),
        found_trend=_found_trend(setting, ordered),
    )


def _steps(setting: str, ordered: Sequence[Overhaul]) -> Iterator[Step]:
    for index, visit in enumerate(ordered):
        if index:
            yield _step(setting, SERVICE, ordered[index - 1], visit)
        yield _step(setting, RESET, visit, visit)


def _step(setting: str, kind: str, start: Overhaul, end: Overhaul) -> Step:
    """The step in service from start to end, or the reset within one visit."""
    before, after = _ends(kind, start, end)
    cut = _cut(setting, kind, start, end)
    if cut or before is None or after is None:
        return Step(kind, start, end, cut=cut)
    difference = _difference(setting, before, after)
    if before.no_lift or after.no_lift:
        return Step(kind, start, end, bound=difference)
    return Step(kind, start, end, change=difference)


def _ends(kind: str, start: Overhaul, end: Overhaul) -> tuple[Reading | None, Reading | None]:
    if kind == SERVICE:
        return start.as_left, end.as_found
    return start.as_found, end.as_left


def _cut(setting: str, kind: str, start: Overhaul, end: Overhaul) -> Cut | None:
    """Why the two readings must not be subtracted; None when they may be."""
    before, after = _ends(kind, start, end)
    if before is None or after is None:
        return _missing(kind, start, end)
    if kind == RESET and start.renewed:
        return Cut(PART_RENEWED, f"{start.renewed} on {start.on} ({start.ref})")
    if setting == SET_PRESSURE:
        return _pop_cut(kind, start, end, before, after)
    return _setting_cut(before, after, end)


def _missing(kind: str, start: Overhaul, end: Overhaul) -> Cut:
    before, _ = _ends(kind, start, end)
    visit = start if before is None else end
    stage = "as-left" if (before is None) == (kind == SERVICE) else "as-found"
    return Cut(MISSING, f"no {stage} of {visit.on} ({visit.ref})")


def _pop_cut(
    kind: str, start: Overhaul, end: Overhaul, before: Reading, after: Reading
) -> Cut | None:
    left, visit = (before, start) if kind == SERVICE else (after, end)
    if left.no_lift:
        return Cut(MISSING, f"no as-left pop of {visit.on} ({visit.ref})")
    if before.deviation is None or after.deviation is None:
        return Cut(MISSING, f"no cold test pressure for {start.ref} or {end.ref}")
    if method_of(start) != method_of(end):
        was, now = (visit.method or "not recorded" for visit in (start, end))
        return Cut(METHOD, f"method was {was}, from {end.on} {now}")
    return None


def _setting_cut(before: Reading, after: Reading, end: Overhaul) -> Cut | None:
    if not before.datum.strip() or not after.datum.strip():
        return Cut(DATUM, f"no datum recorded up to {end.on} ({end.ref})")
    if not same_datum(before.datum, after.datum):
        return Cut(DATUM, f"datum was {before.datum}, from {end.on} {after.datum}")
    if before.quantity.dimension != after.quantity.dimension:
        return Cut(DATUM, f"measured as {before.quantity}, from {end.on} as {after.quantity}")
    return None


def _difference(setting: str, before: Reading, after: Reading) -> Quantity:
    if setting != SET_PRESSURE:
        return after.quantity - before.quantity.to(after.quantity.unit)
    assert before.deviation is not None and after.deviation is not None
    return Quantity.of(after.deviation - before.deviation, "%")


def _found_trend(setting: str, ordered: Sequence[Overhaul]) -> Trend | None:
    """As-found values on their dates since the series was last cut.

    None when too few, and when one of them is only a bound: a slope over bounds is no slope.
    """
    run: list[tuple[date, Reading]] = []
    frame: object = None
    for visit in ordered:
        for reading in (visit.as_found, visit.as_left):
            if reading and _frame(setting, visit, reading) != frame:
                run, frame = [], _frame(setting, visit, reading)
            if reading and reading is visit.as_found:
                run.append((visit.on, reading))
        if visit.renewed:
            run = []
    if any(reading.no_lift for _, reading in run):
        return None
    values = [(on, _value(setting, reading, run[-1][1])) for on, reading in run]
    return trend([(on, value) for on, value in values if value is not None])


def _frame(setting: str, visit: Overhaul, reading: Reading) -> tuple[str, ...]:
    """What two readings must share to lie on one line."""
    if setting == SET_PRESSURE:
        return (method_of(visit),)
    return (reading.quantity.dimension, *datum_key(reading.datum))


def _value(setting: str, reading: Reading, last: Reading) -> Fraction | None:
    """Percent of CDTP for a pop, else the number in the unit of the last reading."""
    if setting == SET_PRESSURE:
        return reading.deviation
    return reading.quantity.to(last.quantity.unit).magnitude if reading.datum.strip() else None
