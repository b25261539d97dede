"""A series as the panel it is drawn from: set pressure in percent of CDTP, settings as read."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from fleet.calc.units import Quantity, format_magnitude
from fleet.drawings.axis import day_words
from fleet.drawings.words import MINUS, percent_words
from inspections.calc.movements import DATUM, METHOD, PART_RENEWED, SERVICE, Series, Step
from inspections.calc.readings import datum_key
from inspections.calc.verdicts import HIGH, LOW, deviation_percent
from inspections.calc.visits import SET_PRESSURE, Overhaul, Reading, method_of
from inspections.drawings.panels import AS_FOUND, AS_LEFT, Band, Cut, Panel, Point, Run
from inspections.models import Method, SettingPoint

Address = Callable[[str], str]
CUT_WORDS = {DATUM: "datum changed", METHOD: "method changed"}
PERCENT_OF_CDTP = "% of cold test pressure, first pop and as left"


@dataclass(frozen=True)
class Piece:
    """A series to be drawn: a device's own, or what one device read in a stay in a position.

    `address` answers the page of a record by its ref. In a position another device came on
    `next_on`: what was read before the stay or after that day stands where the stay meets it.
    """

    one: Series
    address: Address
    run: Run | None = None
    next_on: date | None = None

    def stands_on(self, day: date) -> date:
        if self.run is None:
            return day
        return min(max(day, self.run.from_on), self.next_on or date.max)


def panel_of(one: Series, point: SettingPoint | None, address: Address) -> Panel:
    """`address` answers the page of a record by its ref."""
    return panel_over([Piece(one, address)], one.setting, point)


def panel_over(
    pieces: Sequence[Piece], setting: str, point: SettingPoint | None, changes: Sequence[Cut] = ()
) -> Panel:
    """One panel of one or several series; `changes` are the cuts between them."""
    cuts = (*changes, *(cut for piece in pieces for cut in _cuts(piece)))
    if setting != SET_PRESSURE:
        return _setting_panel(pieces, setting, point, cuts)
    readings = list(_readings(pieces))
    if any(_deviation(reading) is not None for reading in readings):
        points = tuple(_points(pieces, _as_percent))
        return Panel("Set pressure", PERCENT_OF_CDTP, points, tuple(_bands(pieces)), cuts)
    unit = readings[-1].quantity.unit if readings else ""
    words = f"{unit}, no cold test pressure is known" if unit else "no pop is recorded"
    return Panel("Set pressure", words, tuple(_points(pieces, _as_read(unit))), (), cuts)


def _setting_panel(
    pieces: Sequence[Piece], setting: str, point: SettingPoint | None, cuts: tuple[Cut, ...]
) -> Panel:
    last = next(reversed(list(_readings(pieces))), None)
    unit = last.quantity.unit if last else ""
    datum = last.datum if last else point.datum if point else ""
    said = [unit, f"from {datum}" if datum else "no datum recorded"]
    if point and point.positive:
        said.append(f"positive is {point.positive}")
    title = setting.replace("_", " ").capitalize()
    points = tuple(_points(pieces, _as_read(unit)))
    return Panel(title, ", ".join(filter(None, said)), points, (), cuts)


def _visits(pieces: Sequence[Piece]) -> Iterator[tuple[Piece, Overhaul]]:
    yield from ((piece, visit) for piece in pieces for visit in piece.one.overhauls)


def _readings(pieces: Sequence[Piece]) -> Iterator[Reading]:
    for _, visit in _visits(pieces):
        yield from (reading for reading in (visit.as_found, visit.as_left) if reading)


Drawn = tuple[Fraction | None, str]  # where it stands, and the figure beside it


def _deviation(reading: Reading) -> Fraction | None:
    return reading.deviation if reading.cdtp and reading.cdtp.magnitude else None


def _as_percent(reading: Reading) -> Drawn:
    deviation = _deviation(reading)
    return deviation, "" if deviation is None else percent_words(deviation)


def _as_read(unit: str) -> Callable[[Reading], Drawn]:
    """In the unit of the last reading; what was measured in another dimension has no place."""

    def drawn(reading: Reading) -> Drawn:
        quantity = reading.quantity
        if not unit or quantity.dimension != Quantity.of(0, unit).dimension:
            return None, ""
        there = quantity.to(unit)
        return there.magnitude, format_magnitude(there).replace("-", MINUS)

    return drawn


def _points(pieces: Sequence[Piece], drawn: Callable[[Reading], Drawn]) -> Iterator[Point]:
    spelled: dict[tuple[str, ...], str] = {}
    methods = {method_of(visit) for _, visit in _visits(pieces) if visit.method}
    for piece, visit in _visits(pieces):
        remark = Method(visit.method).label if visit.method and len(methods) > 1 else ""
        for stage, reading in _stages(visit):
            value, figure = drawn(reading) if reading else (None, "")
            datum = reading.datum if reading else ""
            point = Point(
                visit.on,
                value,
                stage,
                _label(visit, stage, reading, figure),
                piece.address(visit.ref),
                outside=reading is not None and reading.verdict in (HIGH, LOW),
                censored=reading is not None and reading.no_lift,
                figure=figure if value is not None or reading is None else str(reading),
                unplaced=value is None and reading is not None,
                datum=spelled.setdefault(datum_key(datum), datum),
                remark=remark if reading else visit.missing_reason,
            )
            yield _placed(point, piece)


def _placed(point: Point, piece: Piece) -> Point:
    """In a position: with its device, within the stay, and with its own day if that is another."""
    if piece.run is None:
        return point
    on = piece.stands_on(point.on)
    label = f"{piece.run.device}, {point.label}"
    if on == point.on:
        return replace(point, label=label, run=piece.run)
    move = f"{'fitted' if point.stage == AS_LEFT else 'out by'} {day_words(on)}"
    return replace(point, on=on, read_on=point.on, label=f"{label}, {move}", run=piece.run)


def _stages(visit: Overhaul) -> Iterator[tuple[str, Reading | None]]:
    """What the visit read, and what it should have: None is drawn as missing."""
    if visit.elsewhere != AS_FOUND and (visit.as_found or visit.method != Method.MAKER):
        yield AS_FOUND, visit.as_found
    if visit.elsewhere != AS_LEFT and (visit.as_left or visit.goes_back):
        yield AS_LEFT, visit.as_left


def _label(visit: Overhaul, stage: str, reading: Reading | None, figure: str) -> str:
    said = [f"{stage.replace('_', ' ')} {day_words(visit.on)}, {visit.ref}"]
    if reading is None:
        return f"{said[0]}: not recorded"
    words = str(reading).replace("-", MINUS) if reading.datum else str(reading)
    said.append(words if figure in ("", words) or not reading.cdtp else f"{words}, {figure}")
    return ": ".join(said) + (f", {reading.verdict}" if reading.verdict in (HIGH, LOW) else "")


def _cuts(piece: Piece) -> Iterator[Cut]:
    """Where readings are not compared; a missing reading is drawn itself and needs no cut."""
    for step in piece.one.steps:
        if step.cut and step.cut.kind in (*CUT_WORDS, PART_RENEWED):
            words = CUT_WORDS.get(step.cut.kind) or step.cut.reason.partition(" on ")[0]
            yield Cut(piece.stands_on(_cut_on(step)), words)


def _cut_on(step: Step) -> date:
    """On the day of the visit, or midway between two: nobody knows when."""
    if step.kind != SERVICE:
        return step.end.on
    return step.start.on + (step.end.on - step.start.on) / 2


def _bands(pieces: Sequence[Piece]) -> Iterator[Band]:
    """The band of each visit, in percent of its day's CDTP, holds until a visit had another."""
    popped = [(piece, visit) for piece, visit in _visits(pieces) if visit.as_found or visit.as_left]
    limits = [(piece.stands_on(visit.on), limits_of(visit)) for piece, visit in popped]
    held = [pair for i, pair in enumerate(limits) if i == 0 or pair[1] != limits[i - 1][1]]
    for i, (on, limit) in enumerate(held):
        if limit is not None:
            until = held[i + 1][0] if i + 1 < len(held) else None
            yield Band(None if i == 0 else on, until, *limit)


def limits_of(visit: Overhaul) -> tuple[Fraction, Fraction] | None:
    """The band of a visit's pops in percent of their CDTP; None where none was in force."""
    for reading in (visit.as_found, visit.as_left):
        if reading and reading.band and reading.cdtp and reading.cdtp.magnitude:
            cdtp = reading.cdtp
            low, high = reading.band.low, reading.band.high
            return deviation_percent(low, cdtp), deviation_percent(high, cdtp)
    return None
