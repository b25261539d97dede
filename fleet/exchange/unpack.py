"""A child process that turns an .xlsx into lines of JSON, under a limit of memory.

A spreadsheet can still ask for more than there is; then this process dies, and not the site.
Run as `python -m fleet.exchange.unpack FILE FOLDER`: writes `names.json` and one `N.jsonl` a sheet.
Text stays text, numbers stay numbers, dates become {"date": ...}, times {"time": ...}.
"""

import json
import resource
import sys
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from python_calamine import CalamineSheet, CalamineWorkbook

MEMORY_BYTES = 3 * 1024**3


def main(source: Path, folder: Path) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    workbook = CalamineWorkbook.from_path(str(source))
    names = list(workbook.sheet_names)
    for number, name in enumerate(names):
        with (folder / f"{number}.jsonl").open("w", encoding="utf-8") as lines:
            _write(workbook.get_sheet_by_name(name), lines)
    (folder / "names.json").write_text(json.dumps(names), encoding="utf-8")


def _write(sheet: CalamineSheet, lines: Any) -> None:
    if sheet.start is None:
        return
    blank = [""] * sheet.start[1]  # columns left of the first filled one are not given
    for row in sheet.iter_rows():
        lines.write(json.dumps(blank + row, default=_plain, ensure_ascii=False))
        lines.write("\n")


def _plain(value: object) -> dict[str, str]:
    if isinstance(value, datetime):
        midnight = value.time() == time(0)
        return {"date": value.date().isoformat()} if midnight else {"time": str(value)}
    if isinstance(value, date):
        return {"date": value.isoformat()}
    if isinstance(value, time | timedelta):
        return {"time": str(value)}
    raise TypeError(f"a cell of {type(value)}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
