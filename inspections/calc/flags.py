"""Flags that are facts: what a device's record plainly shows, each with its reason in words.

Every flag looks at the last few overhauls of the series (five unless the site says otherwise),
so that an old trouble long mended does not shout for ever; its reason names the visits. A change of
datum is looked for in all of them: it is no trouble, but whoever reads the series must know. A flag
never changes an interval or an instruction: it asks a person to look.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fleet.calc.units import NOTCHES, Quantity
from inspections.calc.movements import RESET, SERVICE, Series, Step
from inspections.calc.readings import resolution_of, same_datum, shown, signed
from inspections.calc.verdicts import HIGH, LOW, deviation_percent, round_half_away, sticking
from inspections.calc.visits import SET_PRESSURE, Overhaul, Reading

MOVED_IN_SERVICE = "moved_in_service"
RESET_REPEATEDLY = "reset_repeatedly"
OUT_OF_TOLERANCE = "out_of_tolerance"
STICKING = "sticking"
IMPLAUSIBLE = "implausible"
RECORD_MISSING = "record_missing"
DATUM_CHANGED = "datum_changed"

# Statistics: what a screening of the whole fleet finds beyond chance.
TRENDING = "trending"
RESETS_ABOVE_FLEET = "resets_above_fleet"
COMMON_CAUSE = "common_cause"

# These must move whenever set pressure is restored, so turning them in the shop is the work
# itself and asks no question.
RESTORED_EVERY_TIME = {SET_PRESSURE, "compression_screw"}

OPPOSITE = {"up": "down", "down": "up", "in": "out", "out": "in"}


@dataclass(frozen=True)
class Flag:
    """`code` is the word of the exported list; `reasons`, oldest first, each name their visit."""

    code: str
    reasons: tuple[str, ...]

    @property
    def reason(self) -> str:
        return "; ".join(self.reasons)


@dataclass(frozen=True)
class Looking:
    """How a series is judged. `overhauls` and `resets` are site settings.

    `resolution` and `positive` come from the setting point, None and "" when it gives none;
    `required` says that a missing reading is missed.
    """

    overhauls: int = 5
    resets: int = 3
    resolution: Quantity | None = None
    positive: str = ""
    required: bool = False


def flags_of(series: Series, looking: Looking) -> tuple[Flag, ...]:
    """All flags of one series, in the order of the exported list."""
    recent = series.overhauls[-looking.overhauls :]
    steps = [step for step in series.steps if step.end in recent]
    reasons = {
        MOVED_IN_SERVICE: _moved(series.setting, steps, looking),
        RESET_REPEATEDLY: _reset_repeatedly(series.setting, steps, looking),
        OUT_OF_TOLERANCE: _out_of_tolerance(recent),
        STICKING: _sticking(recent),
        IMPLAUSIBLE: [*_finer_than_readable(recent, looking), *_copied(steps, looking)],
        RECORD_MISSING: _missing(recent, looking),
        DATUM_CHANGED: _datum_changed(series.setting, series.overhauls),
    }
    return tuple(Flag(code, found) for code, why in reasons.items() if (found := tuple(why)))


def _moved(setting: str, steps: list[Step], looking: Looking) -> Iterator[str]:
    """Service movements beyond the resolution; of set pressure, beyond the band of that pop."""
    for step in steps:
        if step.kind != SERVICE:
            continue
        if setting == SET_PRESSURE:
            yield from _moved_beyond_band(step)
        elif step.change and beyond_resolution(step.change, looking):
            yield f"{_moved_by(step.change, looking)} in service, {_when(step.end)}"


def _moved_beyond_band(step: Step) -> Iterator[str]:
    """A censored pop counts when even its bound is beyond the high end."""
    moved, found = step.change or step.bound, step.end.as_found
    if moved is None or found is None or found.band is None or found.cdtp is None:
        return
    early = deviation_percent(found.band.low, found.cdtp)
    late = deviation_percent(found.band.high, found.cdtp)
    over = moved.magnitude >= late if step.bound else moved.magnitude > late
    if over or (step.change and moved.magnitude < early):
        more = "more than " if step.bound else ""
        yield (
            f"{more}{signed(moved, 2)} of CDTP in service, {_when(step.end)}, beyond"
            f" {round_half_away(early, 2):+}/{round_half_away(late, 2):+} %"
        )


def _reset_repeatedly(setting: str, steps: list[Step], looking: Looking) -> Iterator[str]:
    """Shop resets beyond the resolution in at least `resets` of the last `overhauls`."""
    if setting in RESTORED_EVERY_TIME:
        return
    resets = [
        step
        for step in steps
        if step.kind == RESET and step.change and beyond_resolution(step.change, looking)
    ]
    if len(resets) >= looking.resets:
        each = ", ".join(
            f"{_moved_by(step.change, looking)} on {step.end.on}" for step in resets if step.change
        )
        yield f"reset in {len(resets)} of the last {looking.overhauls} overhauls: {each}"


def _out_of_tolerance(recent: Sequence[Overhaul]) -> Iterator[str]:
    for visit in recent:
        found = visit.as_found
        if found and found.band and found.verdict in (HIGH, LOW):
            yield (
                f"first pop {found} was {found.verdict}, {_when(visit)};"
                f" band {found.band.low} to {found.band.high}"
            )


def _sticking(recent: Sequence[Overhaul]) -> Iterator[str]:
    for visit in recent:
        found = visit.as_found
        if found and found.band and sticking(found.pop, visit.later_pops, found.band):
            later = ", ".join(map(str, visit.later_pops))
            yield f"first pop {found} was high, later ones {later}, {_when(visit)}"


def _finer_than_readable(recent: Sequence[Overhaul], looking: Looking) -> Iterator[str]:
    """A count between two notches cannot have been read off the ring."""
    for visit in recent:
        for stage, reading in _readings(visit):
            if reading.quantity.dimension != NOTCHES:
                continue
            step = resolution_of(reading.quantity, looking.resolution)
            if step and (reading.quantity.magnitude / step.magnitude).denominator != 1:
                yield f"{stage} {reading} is finer than {step} can be read, {_when(visit)}"


def _copied(steps: Sequence[Step], looking: Looking) -> Iterator[str]:
    """A figure finer than its method can be read, found again to the last digit, was not read.

    Of notches `_finer_than_readable` says so already; a resolution in another unit says nothing of
    the digits.
    """
    for step in steps:
        found, finest = step.end.as_found, looking.resolution
        if step.kind != SERVICE or not found or not step.change or step.change.magnitude:
            continue
        quantity = found.quantity
        if finest is None or quantity.dimension == NOTCHES or quantity.unit != finest.unit:
            continue
        if (quantity.magnitude / finest.magnitude).denominator != 1:
            yield (
                f"as-found {found} repeats the as-left of {step.start.on} to the last digit, finer"
                f" than {finest} can be read, {_when(step.end)}"
            )


def _missing(recent: Sequence[Overhaul], looking: Looking) -> Iterator[str]:
    """A new device from its maker has no as-found and a scrapped one no as-left: neither is
    missing there."""
    for visit in recent if looking.required else ():
        absent = []
        if visit.as_found is None and visit.method != "maker":
            absent.append("as-found")
        if visit.as_left is None and visit.goes_back:
            absent.append("as-left")
        if absent:
            why = f": {visit.missing_reason}" if visit.missing_reason else ""
            yield f"no {' and no '.join(absent)} recorded, {_when(visit)}{why}"


def _datum_changed(setting: str, recent: Sequence[Overhaul]) -> Iterator[str]:
    if setting == SET_PRESSURE:
        return
    dated = [(v, r.datum.strip()) for v in recent for _, r in _readings(v) if r.datum.strip()]
    for (_, before), (visit, after) in pairwise(dated):
        if not same_datum(before, after):
            yield f"datum was {before}, then {after}, {_when(visit)}"


def _readings(visit: Overhaul) -> Iterator[tuple[str, Reading]]:
    """What the visit recorded, in the order it was read."""
    for stage, reading in (("as-found", visit.as_found), ("as-left", visit.as_left)):
        if reading is not None:
            yield stage, reading


def beyond_resolution(change: Quantity, looking: Looking) -> bool:
    """More than one step: two honest readings of one position may differ by a single one."""
    step = resolution_of(change, looking.resolution)
    return step is None or abs(change.magnitude) > step.to(change.unit).magnitude


def _moved_by(change: Quantity, looking: Looking) -> str:
    way = looking.positive if change.magnitude > 0 else OPPOSITE.get(looking.positive, "")
    return f"{shown(abs(change))} {way}" if way else signed(change)


def _when(visit: Overhaul) -> str:
    return f"{visit.on} ({visit.ref})"
