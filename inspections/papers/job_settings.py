"""What each setting is to be put back to, on paper: value, unit and datum as they were read.

An instruction outranks the last as-left, and both are said.
"""

from collections.abc import Iterator

from fleet.drawings.axis import day_words
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import Sheets
from inspections.actions.targets import Target
from inspections.models import Inspection
from inspections.reports.job_sheet import JobSheet

SETTINGS = (
    Column("Setting", 72),
    Column("Target, and where it comes from", 132),
    Column("Last as found", 106),
    Column("As found now", 70),
    Column("As left now", 70),
    Column("Two initials", 57.2),
)
SHORT_SETTINGS = (
    Column("Setting", 72),
    Column("Target, and where it comes from", 176),
    Column("Last as found", 103),
    Column("As found now", 54),
    Column("As left now", 52),
    Column("Two initials", 50.2),
)


def settings(sheets: Sheets, sheet: JobSheet, *, boxed: float, is_short: bool) -> None:
    """Every setting with what it is held to, its last as-found, and boxes for now."""
    columns = SHORT_SETTINGS if is_short else SETTINGS
    if not sheet.targets:
        sheets.words("No setting is listed for this model, and none was ever left.", "soft")
        rows = [blank_row("", columns) for _ in range(2 if is_short else 3)]
        sheets.table(columns, rows, blanks=(0, 3, 4, 5), boxed=boxed)
        return
    rows = [_setting(target, sheet) for target in sheet.targets]
    sheets.table(columns, rows, blanks=(3, 4, 5), boxed=boxed)


def _setting(target: Target, sheet: JobSheet) -> list[Cell]:
    name = target.words[:1].upper() + target.words[1:]
    direction = f"counts {target.positive}" if target.positive else ""
    head = [Words(name, is_bold=True), Words(direction, "soft")]
    return [head, list(_target(target)), list(_last_found(target, sheet)), [], [], []]


def _last_found(target: Target, sheet: JobSheet) -> Iterator[Words]:
    """Its datum is said where it is not plainly the target's."""
    last = sheet.last_found.get(target.setting)
    if last is None:
        yield Words("none on record", "soft")
        return
    yield Words(str(last.value))
    if not last.datum:
        yield Words("datum not recorded", "soft")
    elif last.datum != target.value_datum:
        yield Words(f"from {last.datum}", "soft")
    yield Words(record_words(last.inspection), "soft")


def _target(target: Target) -> Iterator[Words]:
    """What it is held to; an instruction outranks the last as-left, and both are said."""
    if target.value is None:
        yield Words("no target on record", "soon")
        yield Words(f"count from {target.datum}" if target.datum else "", "soft")
        return
    yield Words(str(target.value), is_bold=True)
    yield Words(f"from {target.value_datum or 'a datum that is not recorded'}")
    if target.instruction is not None:
        yield from _instructed(target)
    elif target.left is not None:
        yield Words(f"as left {record_words(target.left.inspection)}", "soft")
    yield Words(target.caution, "soon")


def _instructed(target: Target) -> Iterator[Words]:
    given = target.instruction
    if given is not None:
        yield Words(f"instruction: {given.source}, signed by {given.signed_by}", "soft")
    if target.moved is not None and target.left is not None:
        left = f"last left {target.left_value}, {record_words(target.left.inspection)}"
        yield Words(f"{left}: {target.moved.words}", "soon")


def record_words(inspection: Inspection) -> str:
    """`17 Jun 2021, record W21-0073`."""
    day = day_words(inspection.done_on) if inspection.done_on else "day not recorded"
    return f"{day}, record {inspection.ref}"


def blank_row(name: str, columns: tuple[Column, ...]) -> list[Cell]:
    """A row of empty boxes under these columns, named."""
    return [[Words(name, is_bold=True)], *([] for _ in columns[1:])]
