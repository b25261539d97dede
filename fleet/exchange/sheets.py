"""A sheet as it is declared, and its rows once every cell has been read."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fleet.calc.typed_dates import TypedDate
from fleet.calc.units import UnitsError
from fleet.exchange.cells import (
    CLEAR,
    CLEAR_WORD,
    STANDS_FOR_NOTHING,
    CellError,
    Kind,
    Reading,
    plain_text,
)
from fleet.exchange.reader import RawSheet
from fleet.faults import FAULT, NOTE, Fault

HEADER = re.compile(r"([a-z_]+)\s*\[([^\]]+)\]")
Say = Callable[[Fault], None]


@dataclass(frozen=True)
class Column:
    name: str
    kind: Kind
    required: bool = False


@dataclass(frozen=True)
class Sheet:
    """A sheet's name, its key, and its columns in the order in which they are written."""

    name: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]

    @property
    def names(self) -> list[str]:
        return [column.name for column in self.columns]


class Row:
    """One row: `row[name]` is the value read, None where nothing was given or it was cleared.

    is_sound: False when a cell could not be read, which was said; its other cells are there.
    """

    __slots__ = ("index", "is_sound", "number", "sheet", "values")

    def __init__(
        self, sheet: str, number: int, index: dict[str, int], values: list, is_sound: bool
    ) -> None:
        self.sheet, self.number, self.index, self.values = sheet, number, index, values
        self.is_sound = is_sound

    def __getitem__(self, name: str) -> Any:
        value = self._raw(name)
        return None if value is CLEAR else value

    def _raw(self, name: str) -> Any:
        place = self.index.get(name)
        return None if place is None else self.values[place]

    def given(self, name: str) -> bool:
        """Was something said here, `!clear` included?"""
        return self._raw(name) is not None

    def text(self, name: str) -> str:
        """The value as text, "" for none."""
        value = self[name]
        return "" if value is None else str(value)

    def on(self, name: str) -> Any:
        """The day of a date cell; None for none and for one that is not recorded."""
        value = self[name]
        return value.on if isinstance(value, TypedDate) else None

    def typed(self, name: str) -> str:
        """What has to be kept beside the day: a partial date, or `not recorded`."""
        value = self[name]
        if isinstance(value, TypedDate):
            return value.text if value.is_partial else ""
        return value or ""

    def fault(
        self, field: str, expected: str, *, typed: str | None = None, code: str = "",
        severity: str = FAULT,
    ) -> Fault:  # fmt: skip
        shown = self.text(field) if typed is None else typed
        return Fault(field, shown, expected, self.sheet, self.number, severity, code)


def read_rows(sheet: Sheet, raw: RawSheet, reading: Reading, say: Say) -> Iterator[Row]:
    """Every row of a sheet that is not blank; what cannot be read is said."""
    columns = _columns(sheet, raw.header, reading, say)
    index = {column.name: place for place, (_, column, _) in enumerate(columns)}
    missing = [c.name for c in sheet.columns if c.required and c.name not in index]
    for name in missing:
        words = "the column is required and is not in the sheet"
        say(Fault(name, "", words, sheet.name, 1, code="missing_column"))
    readers = [_cell_reader(column, settings) for _, column, settings in columns]
    places = [place for place, _, _ in columns]
    bare = _bare_places(raw.header)
    for number, cells in raw.rows:
        if any(cell != "" for cell in cells):
            row = _row(sheet, number, cells, (places, columns, readers, index), say)
            if any(cells[place] != "" for place in bare if place < len(cells)) or any(
                cell != "" for cell in cells[len(raw.header) :]
            ):
                words = "a cell stands in a column without a header; is a comma not quoted?"
                say(Fault("", "", words, sheet.name, number, code="cell_without_column"))
                row.is_sound = False
            row.is_sound = row.is_sound and not missing
            yield row


def _bare_places(header: Sequence[Any]) -> list[int]:
    return [place for place, cell in enumerate(header) if str(cell).strip() == ""]


def _row(sheet: Sheet, number: int, cells: list, plan: tuple, say: Say) -> Row:
    places, columns, readers, index = plan
    width, values, is_sound = len(cells), [], True
    for place, (_, column, _), read in zip(places, columns, readers, strict=True):
        cell = cells[place] if place < width else ""
        value = None
        if cell != "" or column.required:
            try:
                value = read(cell)
            except (CellError, UnitsError) as error:
                is_sound = False
                say(Fault(column.name, error.typed, f"expected {error.expected}",
                          sheet.name, number, code="unreadable"))  # fmt: skip
        values.append(value)
    return Row(sheet.name, number, index, values, is_sound)


def _columns(
    sheet: Sheet, header: Sequence[Any], reading: Reading, say: Say
) -> list[tuple[int, Column, Reading]]:
    """(place, column, how it is read) of every known column; the others are noted."""
    known = {column.name: column for column in sheet.columns}
    found: dict[str, tuple[int, Column, Reading]] = {}
    for place, cell in enumerate(header):
        typed = str(cell).strip()
        match = HEADER.fullmatch(typed)
        name, unit = (match[1], match[2].strip()) if match else (typed, None)
        if not typed:
            continue
        if name not in known:
            words = "is not a column of this sheet and was left out"
            say(Fault(typed, "", words, sheet.name, 1, NOTE, "unknown_column"))
        elif name in found:
            say(Fault(name, typed, "the column is there twice", sheet.name, 1, code="duplicate"))
        elif problem := _unit_problem(known[name], unit, reading):
            say(Fault(name, typed, problem, sheet.name, 1, code="unreadable"))
        else:
            found[name] = (place, known[name], replace(reading, header_unit=unit))
    return list(found.values())


def _unit_problem(column: Column, unit: str | None, reading: Reading) -> str:
    if unit is None:
        return ""
    if not column.kind.is_quantity:
        return "this column holds no quantity and takes no unit"
    try:
        column.kind.read("1", replace(reading, header_unit=unit))
    except UnitsError as error:
        return f"expected {error.expected}"
    return ""


def _cell_reader(column: Column, reading: Reading) -> Callable[[Any], Any]:
    """Reads one cell of a column; what was read once is not read again."""
    kind, known = column.kind, {}  # type: ignore[var-annotated]

    def read(cell: Any) -> Any:
        if kind.is_cached and isinstance(cell, str) and cell in known:
            return known[cell]
        typed = plain_text(cell, kind, reading)
        value = _value(column, typed, reading)
        if kind.is_cached and isinstance(cell, str) and len(known) < 50_000:
            known[cell] = value
        return value

    return read


def _value(column: Column, typed: str, reading: Reading) -> Any:
    if column.required and typed.casefold() in STANDS_FOR_NOTHING:
        raise CellError(typed, "a value: this column is required")
    if typed == "":
        if column.required:
            raise CellError("", "a value: this column is required")
        return None
    if typed.casefold() == CLEAR_WORD:
        if column.required:
            raise CellError(typed, "a value: this column is required and cannot be cleared")
        return CLEAR
    return column.kind.read(typed, reading)
