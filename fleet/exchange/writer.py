"""Writes sheets out: a folder of .csv, a .zip of them, or an .xlsx. No cell is altered.

The same register gives the same bytes: rows are sorted by their key, columns are in their
declared order, lines end in a line feed, and a zip carries no date of its making.
"""

import csv
import io
import zipfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import xlsxwriter

from fleet.exchange.guard import ROWS
from fleet.exchange.sheets import Sheet
from fleet.faults import Fault, Refused

EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest day a zip can say
CELL_LIMIT = 32_767  # characters a spreadsheet keeps in one cell
Cells = dict[str, str]
Written = tuple[Sheet, Iterable[Cells]]


def write(path: Path, sheets: Iterable[Written]) -> dict[str, int]:
    """Write sheets to `path`, its kind told by its ending (none = a folder). Rows by sheet.

    Raises Refused for an ending it does not know.
    """
    writers: dict[str, Callable[[Path, Iterable[Written]], dict[str, int]]] = {
        "": _folder,
        ".zip": _zip,
        ".xlsx": _workbook,
    }
    writer = _folder if path.is_dir() else writers.get(path.suffix.lower())
    if writer is None:
        words = "a folder, or a file that ends in .zip or .xlsx"
        raise Refused([Fault("path", str(path), words)])
    return writer(path, sheets)


def in_order(sheet: Sheet, rows: Iterable[Cells]) -> list[list[str]]:
    """Rows as lists of cells, sorted by key; rows of one key (findings) keep their order."""
    names, key = sheet.names, [name for name in sheet.key if name in sheet.names]
    ordered = sorted(rows, key=lambda row: [row.get(name, "") for name in key])
    return [[row.get(name, "") for name in names] for row in ordered]


def _folder(path: Path, sheets: Iterable[Written]) -> dict[str, int]:
    path.mkdir(parents=True, exist_ok=True)
    counts = {}
    for sheet, rows in sheets:
        text, counts[sheet.name] = _csv(sheet, rows)
        (path / f"{sheet.name}.csv").write_bytes(text)
    return counts


def _zip(path: Path, sheets: Iterable[Written]) -> dict[str, int]:
    counts = {}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for sheet, rows in sheets:
            text, counts[sheet.name] = _csv(sheet, rows)
            info = zipfile.ZipInfo(f"{sheet.name}.csv", EPOCH)
            archive.writestr(info, text, zipfile.ZIP_DEFLATED)
    return counts


def _csv(sheet: Sheet, rows: Iterable[Cells]) -> tuple[bytes, int]:
    ordered, file = in_order(sheet, rows), io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(sheet.names)
    writer.writerows(ordered)
    return file.getvalue().encode(), len(ordered)


def _workbook(path: Path, sheets: Iterable[Written]) -> dict[str, int]:
    counts = {}
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as workbook:
        for sheet, rows in sheets:
            ordered = in_order(sheet, rows)
            _refuse_too_large(sheet, ordered)
            page = workbook.add_worksheet(sheet.name)
            for number, cells in enumerate([sheet.names, *ordered]):
                for place, cell in enumerate(cells):
                    if cell:
                        page.write_string(number, place, cell)
            counts[sheet.name] = len(ordered)
    return counts


def _refuse_too_large(sheet: Sheet, rows: Sequence[Sequence[str]]) -> None:
    if len(rows) >= ROWS:
        words = f"{len(rows):,} rows are more than a spreadsheet holds; write a folder or .zip"
        raise Refused([Fault("path", "", words, sheet.name)])
    for number, cells in enumerate(rows, 2):
        for name, cell in zip(sheet.names, cells, strict=True):
            if len(cell) > CELL_LIMIT:
                words = f"{len(cell):,} characters are more than a cell holds; write a folder"
                raise Refused([Fault(name, cell[:40], words, sheet.name, number)])
