"""Any list as CSV, XLSX, JSON or a table for a terminal.

A list is column names and an iterable of rows (mappings from column to value). Values: dates become
ISO 8601, decimals keep their digits, None is empty, a list of texts is joined by ";" (JSON keeps
it a list). Text that a spreadsheet would run is neutralised; numbers and quantities never are.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, BinaryIO

import xlsxwriter
from django.http import HttpResponse, StreamingHttpResponse

from fleet.calc.units import (
    ABSOLUTE,
    GAS_FLOW,
    GAUGE,
    LEAK_RATE,
    LENGTH,
    LIQUID_FLOW,
    MASS_FLOW,
    NOTCHES,
    PERCENT,
    SPRING_RATE,
    TEMPERATURE,
    TURNS,
    UnitsError,
    parse_quantity,
)

Row = Mapping[str, Any]

MEASURED = (
    *(GAUGE, ABSOLUTE, LENGTH, NOTCHES, TURNS, MASS_FLOW, GAS_FLOW, LIQUID_FLOW),
    *(SPRING_RATE, TEMPERATURE, LEAK_RATE, PERCENT),
)
RUNS = ("=", "+", "-", "@", "\t", "\r")  # OWASP, CSV injection: what a spreadsheet would run
CONTENT_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def pieces(
    kind: str, columns: Sequence[str], rows: Iterable[Row], summary: Mapping[str, Any]
) -> Iterator[str]:
    """The list as text, for a pipe: `kind` is csv, json or table."""
    if kind == "csv":
        yield from csv_lines(columns, rows)
    elif kind == "json":
        yield from json_pieces(columns, rows, summary)
    else:
        yield from (f"{line}\n" for line in table_lines(columns, rows))


def download(
    kind: str,
    name: str,
    columns: Sequence[str],
    rows: Iterable[Row],
    summary: Mapping[str, Any],
) -> HttpResponse | StreamingHttpResponse:
    """The list as a file to keep, named `name`; csv and json are streamed."""
    if kind == "xlsx":
        response = HttpResponse(content_type=CONTENT_TYPES[kind])
        write_xlsx(response, columns, rows, title=name)
    else:
        lines = pieces(kind, columns, rows, summary)
        response = StreamingHttpResponse(lines, content_type=CONTENT_TYPES[kind])
    response["Content-Disposition"] = f'attachment; filename="{name}.{kind}"'
    return response


def plain(value: Any) -> Any:
    """A value as every format shows it: text, a whole number, a list of texts, or None."""
    if value is None or isinstance(value, (str, bool, int, list)):
        return value or None if isinstance(value, str) else value
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    return str(value)


def cell(value: Any) -> str | int | None:
    """A value as a spreadsheet may hold it."""
    value = plain(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = ";".join(str(item) for item in value)
    return neutral(value) if isinstance(value, str) else value


def neutral(text: str) -> str:
    """The text, with an apostrophe in front where a spreadsheet would run it."""
    if text.startswith(RUNS) and not _is_measured(text):
        return f"'{text}"
    return text


def _is_measured(text: str) -> bool:
    """A number alone, or a quantity: `-41`, `-5/16 in`, `-0.5 kPag`."""
    for dimensions, unit in ((MEASURED, None), ((TURNS,), "turns")):
        try:
            parse_quantity(text, dimensions, header_unit=unit)
        except UnitsError:
            continue
        return True
    return False


def csv_lines(columns: Sequence[str], rows: Iterable[Row]) -> Iterator[str]:
    """The list as CSV, a piece at a time, so that a long one never stands in memory."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(columns)
    for number, row in enumerate(rows, 1):
        writer.writerow([cell(row.get(name)) for name in columns])
        if number % 500 == 0:
            yield _taken(buffer)
    yield _taken(buffer)


def _taken(buffer: io.StringIO) -> str:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text


def json_pieces(
    columns: Sequence[str], rows: Iterable[Row], summary: Mapping[str, Any]
) -> Iterator[str]:
    """`{"rows": [...], "summary": {...}}`, a row at a time."""
    yield '{"rows": ['
    separator = "\n"
    for row in rows:
        yield separator + json.dumps(
            {name: plain(row.get(name)) for name in columns}, ensure_ascii=False
        )
        separator = ",\n"
    said = {name: plain(value) for name, value in summary.items()}
    yield f'\n], "summary": {json.dumps(said, ensure_ascii=False)}}}\n'


def write_xlsx(file: BinaryIO, columns: Sequence[str], rows: Iterable[Row], *, title: str) -> None:
    """One sheet, every text written as text: nothing in it is ever a formula or a link."""
    book = xlsxwriter.Workbook(file, {"constant_memory": True})
    sheet = book.add_worksheet(title[:31])
    sheet.freeze_panes(1, 0)
    bold = book.add_format({"bold": True})
    for across, name in enumerate(columns):
        sheet.set_column(across, across, max(12, len(name) + 2))
        sheet.write_string(0, across, name, bold)
    for down, row in enumerate(rows, 1):
        for across, name in enumerate(columns):
            value = cell(row.get(name))
            if isinstance(value, int):
                sheet.write_number(down, across, value)
            elif value is not None:
                sheet.write_string(down, across, value)
    book.close()


def table_lines(columns: Sequence[str], rows: Iterable[Row]) -> Iterator[str]:
    """The list for a terminal: columns padded to their widest cell, a rule under the heads."""
    cells = [[_shown(row.get(name)) for name in columns] for row in rows]
    widths = [
        max(len(name), *(len(line[i]) for line in cells)) if cells else len(name)
        for i, name in enumerate(columns)
    ]
    for line in [list(columns), ["-" * width for width in widths], *cells]:
        padded = (text.ljust(width) for text, width in zip(line, widths, strict=True))
        yield "  ".join(padded).rstrip()


def _shown(value: Any) -> str:
    value = plain(value)
    if isinstance(value, list):
        return ";".join(str(item) for item in value)
    return "" if value is None else " ".join(str(value).split())
