"""Opens what people send: a folder or zip of .csv files, one .csv, or an .xlsx. Cells come as
they stand; what they mean is the business of `fleet.exchange.cells`.
"""

import csv
import io
import json
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fleet.exchange.guard import check_xlsx, open_zip, refuse
from fleet.faults import Fault, Refused

KINDS = "an .xlsx workbook, or a folder or .zip of .csv files, or one .csv file"
OLD_XLS = b"\xd0\xcf\x11\xe0"
UNPACK_SECONDS = 600
csv.field_size_limit(1024 * 1024)


@dataclass(frozen=True)
class RawSheet:
    """A sheet as it came: header cells, then (row number, cells); row 1 is the header.

    A cell is text, a number, True or False, {"date": ...} or {"time": ...}; empty is "".
    """

    name: str
    header: list[Any]
    rows: Iterable[tuple[int, list[Any]]]


def open_source(path: Path, stack: ExitStack) -> list[RawSheet]:
    """The sheets of a source, rows read as they are asked for. Raises Refused.

    `stack` closes files and removes what was unpacked when the caller has read everything.
    """
    if path.is_dir():
        sheets = [_csv_file(file, stack) for file in sorted(path.glob("*.csv"))]
    elif not path.is_file():
        raise refuse("file", str(path), "is not there")
    else:
        sheets = _open_file(path, stack)
    sheets = [sheet for sheet in sheets if any(cell != "" for cell in sheet.header)]
    if not sheets:
        raise refuse("file", path.name, f"holds no sheet with a header; expected {KINDS}")
    names = [sheet.name for sheet in sheets]
    for name in sorted({name for name in names if names.count(name) > 1}):
        raise refuse("file", name, "is there twice", sheet=name)
    return sheets


def _open_file(path: Path, stack: ExitStack) -> list[RawSheet]:
    with path.open("rb") as file:
        start = file.read(4)
    if not start:
        raise refuse("file", path.name, f"is empty; expected {KINDS}")
    if start == b"PK\x03\x04":
        archive = stack.enter_context(open_zip(path))
        if "[Content_Types].xml" in archive.namelist():
            return _xlsx(path, archive, stack)
        return _csv_zip(archive, stack)
    if start == OLD_XLS:
        raise refuse("file", path.name, "is an old or password-protected workbook: save as .xlsx")
    if path.suffix.lower() == ".csv":
        return [_csv_file(path, stack)]
    raise refuse("file", path.name, f"is of another type; expected {KINDS}")


def _csv_zip(archive: zipfile.ZipFile, stack: ExitStack) -> list[RawSheet]:
    sheets = []
    for name in sorted(archive.namelist()):
        plain = Path(name)
        hidden = any(part.startswith((".", "__MACOSX")) for part in plain.parts)
        if plain.suffix.lower() == ".csv" and not hidden:
            text = io.TextIOWrapper(
                stack.enter_context(archive.open(name)), encoding="utf-8-sig", newline=""
            )
            sheets.append(_csv(plain.stem, text))
    return sheets


def _csv_file(path: Path, stack: ExitStack) -> RawSheet:
    file = stack.enter_context(path.open(encoding="utf-8-sig", newline=""))
    return _csv(path.stem, file)


def _csv(name: str, lines: Iterable[str]) -> RawSheet:
    rows = _csv_rows(name, lines)
    return RawSheet(name, next(rows, (1, []))[1], rows)


def _csv_rows(name: str, lines: Iterable[str]) -> Iterator[tuple[int, list[Any]]]:
    number = 0
    try:
        for cells in csv.reader(lines, strict=True):
            number += 1
            yield number, cells
    except UnicodeDecodeError:
        words = "is not UTF-8 text: save the file as “CSV UTF-8”"
    except csv.Error as error:
        words = f"cannot be read as comma-separated text ({error})"
    except (zipfile.BadZipFile, OSError, EOFError):
        words = "is damaged"
    else:
        return
    raise Refused([Fault("", "", f"what follows {words}", sheet=name, row=number + 1)])


def _xlsx(path: Path, archive: zipfile.ZipFile, stack: ExitStack) -> list[RawSheet]:
    check_xlsx(archive)
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="workbook-")))
    command = [sys.executable, "-m", "fleet.exchange.unpack", str(path.resolve()), str(folder)]
    root = Path(__file__).resolve().parents[2]
    try:
        done = subprocess.run(
            command, cwd=root, capture_output=True, timeout=UNPACK_SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        raise refuse("file", path.name, "takes too long to read") from None
    if done.returncode < 0 or b"MemoryError" in done.stderr:
        raise refuse("file", path.name, "needs more memory than a workbook may")
    if done.returncode:
        raise refuse("file", path.name, "cannot be read as a workbook")
    names = json.loads((folder / "names.json").read_text(encoding="utf-8"))
    return [_unpacked(name, folder / f"{number}.jsonl", stack) for number, name in enumerate(names)]


def _unpacked(name: str, path: Path, stack: ExitStack) -> RawSheet:
    lines = stack.enter_context(path.open(encoding="utf-8"))
    rows = ((number, json.loads(line)) for number, line in enumerate(lines, 1))
    return RawSheet(name, next(rows, (1, []))[1], rows)
