"""Looks at a zip or .xlsx before anything reads it: bombs, far cells, formulas, hidden content.

Standard library only. A spreadsheet reader trusts what a file says of itself and lays out every
cell up to the farthest; five kilobytes can ask for all the memory there is.
"""

import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from fleet.faults import Fault, Refused

MEMBERS = 1000
TOTAL_BYTES = 2 * 1024**3
RATIO, RATIO_BYTES = 200, 20 * 1024**2  # above this size, no part may unpack to 200 times itself
ROWS, COLUMNS = 1_048_576, 200
DENSE_CELLS, CELLS_A_FILLED_ONE = 2_000_000, 50
CHUNK, OVERLAP = 4 * 1024**2, 4096
NAMED = 20  # formula cells named one by one; the rest are counted

CELL = re.compile(rb"""<(?:\w+:)?c\s[^<>]*?\br\s*=\s*["']([A-Za-z]+)(\d+)["'][^<>]*>""")
FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
ERROR = re.compile(rb"""<(?:\w+:)?c\s[^<>]*?\bt\s*=\s*["']e["'][^<>]*>""")
SHEET = re.compile(r"xl/(?:worksheets|chartsheets)/[^/]+\.xml$", re.IGNORECASE)


def refuse(field: str, typed: str, expected: str, sheet: str = "") -> Refused:
    return Refused([Fault(field, typed, expected, sheet=sheet, code="unreadable_file")])


def open_zip(path: Path) -> zipfile.ZipFile:
    """A zip whose parts are few, unencrypted and honest about their size. Raises Refused."""
    try:
        archive = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        raise refuse("file", path.name, "is not a whole zip or .xlsx file") from None
    infos = archive.infolist()
    if len(infos) > MEMBERS:
        raise refuse("file", path.name, f"holds {len(infos)} parts; at most {MEMBERS} are read")
    if sum(info.file_size for info in infos) > TOTAL_BYTES:
        raise refuse("file", path.name, "would unpack to more than 2 GB")
    for info in infos:
        if info.flag_bits & 1:
            raise refuse("file", info.filename, "is encrypted: save it without a password")
        if info.file_size > RATIO_BYTES and info.file_size > RATIO * max(info.compress_size, 1):
            raise refuse("file", info.filename, "unpacks to far more than a table would")
    return archive


def parts_of(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """A part in pieces that overlap a little; what unpacks to other than declared is refused."""
    tail = b""
    try:
        with archive.open(name) as part:
            while chunk := part.read(CHUNK):
                yield tail + chunk
                tail = chunk[-OVERLAP:]
    except (zipfile.BadZipFile, OSError, EOFError, ValueError, NotImplementedError):
        raise refuse("file", name, "is damaged or not what it says it is") from None
    except Exception as error:  # zlib.error and its like, whatever the compression
        if type(error).__name__ in {"error", "LZMAError"}:
            raise refuse("file", name, "is damaged") from None
        raise


@dataclass
class Extent:
    """How far the cells of one sheet reach, and which of them must not be there."""

    column: bytes = b""
    row: int = 0
    count: int = 0
    formulas: set[str] = field(default_factory=set)
    errors: set[str] = field(default_factory=set)

    def take(self, text: bytes) -> None:
        cells = CELL.findall(text)
        self.count += len(cells)
        letters = {column for column, _ in cells} | {self.column}
        self.column = max(letters, key=lambda column: (len(column), column))
        self.row = max(self.row, max((int(row[:9]) for _, row in cells), default=0))
        for found in FORMULA.finditer(text):
            self.formulas.add(_cell_before(text, found.start()))
        for found in ERROR.finditer(text):
            self.errors.add(_cell_before(text, found.end()))


def _cell_before(text: bytes, place: int) -> str:
    last = None
    for last in CELL.finditer(text, max(0, place - OVERLAP), place):  # noqa: B007
        pass
    return (last[1] + last[2]).decode() if last else "a cell"


def column_number(letters: bytes) -> int:
    number = 0
    for letter in letters.upper()[:5]:
        number = number * 26 + letter - 64
    return number


def check_xlsx(archive: zipfile.ZipFile) -> None:
    """Refuse what a spreadsheet reader would choke on or quietly get wrong. Raises Refused."""
    faults = []
    for info in archive.infolist():
        extent = Extent()
        is_sheet = SHEET.search(info.filename) is not None
        for number, text in enumerate(parts_of(archive, info.filename)):
            if number == 0 and info.filename.endswith((".xml", ".rels")):
                _refuse_markup(info.filename, text)
            if is_sheet:
                extent.take(text)
        faults += _faults_of(Path(info.filename).stem, extent)
    if faults:
        raise Refused(faults)


def _refuse_markup(name: str, start: bytes) -> None:
    """Document types and other encodings hide what the guard looks for."""
    head = start[:4096]
    if b"<!DOCTYPE" in start or b"<!ENTITY" in start:
        raise refuse("file", name, "declares a document type; a spreadsheet needs none")
    encoding = re.search(rb"""encoding\s*=\s*["']([\w-]+)["']""", head)
    if b"\x00" in head or (encoding and encoding[1].lower() not in {b"utf-8", b"us-ascii"}):
        raise refuse("file", name, "is not written in UTF-8")


def _faults_of(sheet: str, extent: Extent) -> Iterator[Fault]:
    columns = column_number(extent.column)
    dense = extent.row * columns
    sparse = dense > DENSE_CELLS and dense > CELLS_A_FILLED_ONE * extent.count
    if columns > COLUMNS or extent.row > ROWS or sparse:
        yield Fault(
            f"{extent.column.decode()}{extent.row}",
            "",
            f"a cell far outside the table (at most {COLUMNS} columns and {ROWS:,} rows, without"
            " wide gaps): delete the empty rows and columns around it",
            sheet=sheet,
            code="far_cell",
        )
    for cell in sorted(extent.formulas)[:NAMED]:
        words = "holds a formula: paste its value as text instead"
        yield Fault(cell, "", words, sheet=sheet, code="formula")
    if len(extent.formulas) > NAMED:
        words = f"and {len(extent.formulas) - NAMED} more cells hold formulas"
        yield Fault("", "", words, sheet=sheet, code="formula")
    for cell in sorted(extent.errors)[:NAMED]:
        words = "holds a spreadsheet error such as #N/A: give the value or leave it empty"
        yield Fault(cell, "", words, sheet=sheet, code="error_cell")
