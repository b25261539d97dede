"""The figures beneath the drawing of one setting: every reading, what it moved, what is flagged."""

from collections.abc import Iterator
from typing import NamedTuple

from fleet.clock import day_of
from fleet.drawings.axis import day_words
from fleet.drawings.states import state_of
from fleet.drawings.words import percent_words, true_minus
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import Sheets
from fleet.reports.reasons import with_day_words
from inspections.calc.flags import Flag
from inspections.calc.movements import RESET, SERVICE, Step
from inspections.calc.verdicts import HIGH, LOW
from inspections.calc.visits import SET_PRESSURE, Overhaul, Reading
from inspections.models import Acknowledgement, Method, Stage
from inspections.reports.cuts import cut_words
from inspections.reports.settings import SettingRow, movement_words

OF_POPS = (62.0, 58.0, 48.0, 98.0, 84.0, 62.0, 95.2)
OF_SETTINGS = (62.0, 58.0, 48.0, 72.0, 110.0, 62.0, 95.2)
HEADS = ("Day", "Record", "Stage", "Reading", "Datum", "Method", "Against the reading before")
POP_HEADS = {"Reading": "Pop, and cold test pressure", "Datum": "Band of that day"}


class Line(NamedTuple):
    """One reading that was taken, or should have been, and the step that ends at it."""

    setting: str
    visit: Overhaul
    stage: str
    reading: Reading | None
    step: Step | None


def set_readings(sheets: Sheets, row: SettingRow) -> None:
    """Oldest first, as the drawing runs."""
    is_pops = row.setting == SET_PRESSURE
    heads = [POP_HEADS.get(head, head) if is_pops else head for head in HEADS]
    widths = OF_POPS if is_pops else OF_SETTINGS
    columns = [Column(head, width) for head, width in zip(heads, widths, strict=True)]
    sheets.y -= 6
    sheets.table(columns, (list(_cells(line)) for line in lines_of(row)))
    sheets.y -= 3


def lines_of(row: SettingRow) -> Iterator[Line]:
    """The same readings, given or missing, as the drawing has."""
    for visit in row.one.overhauls:
        service, reset = _steps_to(row, visit)
        is_found_asked = visit.as_found is not None or visit.method != Method.MAKER
        if is_found_asked:
            yield Line(row.setting, visit, Stage.AS_FOUND, visit.as_found, service)
        if visit.as_left or visit.goes_back:
            step = reset if is_found_asked else None
            yield Line(row.setting, visit, Stage.AS_LEFT, visit.as_left, step)


def _steps_to(row: SettingRow, visit: Overhaul) -> tuple[Step | None, Step | None]:
    """The step in service that ended at a visit (none at the first), and its shop reset."""
    steps = {step.kind: step for step in row.one.steps if step.end is visit}
    return steps.get(SERVICE), steps.get(RESET)


def _cells(line: Line) -> Iterator[Cell]:
    visit = line.visit
    yield [Words(day_words(visit.on))]
    yield [Words(visit.ref)]
    yield [Words(Stage(line.stage).label)]
    yield list(_read(line))
    yield [_measured_by(line)]
    yield [Words(Method(visit.method).label) if visit.method else _soft("not recorded")]
    yield list(_moved(line))


def _soft(words: str) -> Words:
    return Words(words, "soft")


def _read(line: Line) -> Iterator[Words]:
    reading = line.reading
    if reading is None:
        yield _soft("not recorded")
        if line.visit.missing_reason:
            yield _soft(line.visit.missing_reason)
        return
    yield Words(true_minus(str(reading)), is_bold=True)
    if line.setting == SET_PRESSURE:
        yield _of_cold(reading)
    if reading.verdict in (HIGH, LOW):
        yield Words(f"{reading.verdict}, outside the band", "late")
    if line.stage == Stage.AS_FOUND and line.visit.later_pops:
        yield _soft(f"then {', '.join(map(str, line.visit.later_pops))}")


def _of_cold(reading: Reading) -> Words:
    """What the pop was of the cold test pressure of its day; of a bound no percent is said."""
    if reading.cdtp is None:
        return _soft("no cold test pressure")
    if reading.deviation is None or reading.no_lift:
        return Words(f"against {reading.cdtp}")
    return Words(f"{percent_words(reading.deviation, 2)} of {reading.cdtp}")


def _measured_by(line: Line) -> Words:
    """The band that a pop was judged by; the datum that a setting was read from."""
    reading = line.reading
    if reading is None:
        return _soft("")
    if line.setting != SET_PRESSURE:
        return Words(reading.datum) if reading.datum else _soft("none recorded")
    band = reading.band
    return Words(f"{band.low} to {band.high}") if band else _soft("none was in force")


def _moved(line: Line) -> Iterator[Words]:
    """In service or by the shop, and by how much; or why the two are not compared."""
    step = line.step
    if step is None or line.reading is None:
        return
    by = "in service" if step.kind == SERVICE else "by the shop"
    if step.cut:
        yield _soft(f"not compared: {cut_words(step)}")
    elif step.change is not None and step.change.magnitude == 0:
        yield _soft(f"unchanged {by}")
    elif moved := movement_words(step):
        yield Words(true_minus(moved))
        yield _soft(by)


def set_flags(sheets: Sheets, row: SettingRow) -> None:
    """Each with all its reasons, newest first, and who has looked at it."""
    for flag in row.raised:
        _flag(sheets, flag, row.answered.get(flag.code))
    if not row.raised:
        sheets.words("Nothing is flagged.", "soft")


def _flag(sheets: Sheets, flag: Flag, answer: Acknowledgement | None) -> None:
    words = state_of(flag.code).words
    sheets.note(f"Flagged: {words}", "good" if answer else "soon")
    for reason in reversed(flag.reasons):
        sheets.words(true_minus(with_day_words(reason)))
    if answer is None:
        sheets.words("Nobody has answered it yet.", "soft")
        return
    day = day_words(day_of(answer.recorded_at))
    sheets.words(f"Looked at by {answer.recorded_by} on {day}: {answer.note}", is_bold=True)
