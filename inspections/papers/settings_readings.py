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
from inspections.reports.settings import SettingRow, movement_words

WIDTHS = (54.0, 62.0, 44.0, 80.0, 92.0, 62.0, 113.2)
HEADS = ("Day", "Record", "Stage", "Reading", "Datum", "Method", "Against the reading before")
MEASURED_BY = {SET_PRESSURE: "Cold test pressure, band"}


class Line(NamedTuple):
    """One reading that was taken, or should have been, and the step that ends at it."""

    visit: Overhaul
    stage: str
    reading: Reading | None
    step: Step | None


def set_readings(sheets: Sheets, row: SettingRow) -> None:
    """Oldest first, as the drawing runs."""
    heads = [MEASURED_BY.get(row.setting, head) if head == "Datum" else head for head in HEADS]
    columns = [Column(head, width) for head, width in zip(heads, WIDTHS, strict=True)]
    sheets.y -= 6
    sheets.table(columns, (list(_cells(line, row.setting)) for line in lines_of(row)))
    sheets.y -= 3


def lines_of(row: SettingRow) -> Iterator[Line]:
    """The same readings, given or missing, as the drawing has."""
    for visit in row.one.overhauls:
        service, reset = _steps_to(row, visit)
        if visit.as_found or visit.method != Method.MAKER:
            yield Line(visit, Stage.AS_FOUND, visit.as_found, service)
        if visit.as_left or visit.goes_back:
            yield Line(visit, Stage.AS_LEFT, visit.as_left, reset)


def _steps_to(row: SettingRow, visit: Overhaul) -> tuple[Step | None, Step | None]:
    """The step in service that ended at a visit (none at the first), and its shop reset."""
    steps = {step.kind: step for step in row.one.steps if step.end is visit}
    return steps.get(SERVICE), steps.get(RESET)


def _cells(line: Line, setting: str) -> Iterator[Cell]:
    visit, reading = line.visit, line.reading
    yield [Words(day_words(visit.on))]
    yield [Words(visit.ref)]
    yield [Words(Stage(line.stage).label)]
    yield list(_read(line))
    if setting == SET_PRESSURE:
        yield list(_judged_by(reading)) if reading else []
    else:
        yield [Words(reading.datum) if reading.datum else _soft("none recorded")] if reading else []
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
    if reading.deviation is not None and not reading.no_lift:
        yield Words(percent_words(reading.deviation, 2))
    if reading.verdict in (HIGH, LOW):
        yield Words(f"{reading.verdict}, outside the band", "late")
    if line.stage == Stage.AS_FOUND and line.visit.later_pops:
        yield _soft(f"then {', '.join(map(str, line.visit.later_pops))}")


def _judged_by(reading: Reading) -> Iterator[Words]:
    yield Words(str(reading.cdtp)) if reading.cdtp else _soft("no cold test pressure")
    if reading.band:
        yield _soft(f"band {reading.band.low} to {reading.band.high}")
    else:
        yield _soft("no band was in force")


def _moved(line: Line) -> Iterator[Words]:
    """In service or by the shop, and by how much; or why the two are not compared."""
    if line.step is None or line.reading is None:
        return
    by = "in service" if line.step.kind == SERVICE else "by the shop"
    if line.step.cut:
        reason = true_minus(with_day_words(line.step.cut.reason))
        yield Words(f"not compared: {reason}", "soft")
    elif moved := movement_words(line.step):
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
