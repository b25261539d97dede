"""The product as a stranger uses it: workbooks written as text, and what the commands answer."""

import csv
import io
import json
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from django.core.management import CommandError, call_command

TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class Said:
    """What a command left behind: its exit, its two streams, and the rows of --faults."""

    failed: bool
    out: str
    err: str
    rows: list[dict[str, str]] = field(default_factory=list)

    def of(self, severity: str) -> list[str]:
        """`sheet row column` of each fault, finding or note."""
        return [
            f"{row['sheet']} {row['row']} {row['column']}".strip()
            for row in self.rows
            if row["severity"] == severity
        ]

    @property
    def faults(self) -> list[str]:
        return self.of("fault")

    @property
    def findings(self) -> list[str]:
        return self.of("finding")

    @property
    def notes(self) -> list[str]:
        return self.of("note")


def run(*arguments: str) -> Said:
    """A command as from a shell: never an exception, always an answer."""
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=err)
    except (CommandError, SystemExit) as end:
        failed = not isinstance(end, SystemExit) or bool(end.code)
        return Said(failed, out.getvalue(), err.getvalue() + str(end))
    return Said(False, out.getvalue(), err.getvalue())


def write(folder: Path, sheets: dict[str, str]) -> Path:
    """Sheets as text, `a | b | c` a line, as a folder of CSV; lines and cells are stripped."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in sheets.items():
        lines = [line.strip() for line in text.strip().splitlines() if line.strip()]
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerows([cell.strip() for cell in line.split("|")] for line in lines)
    return folder


class Plant:
    """An empty migrated database and a folder to write workbooks in."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.count = folder, 0

    def path(self, name: str = "book") -> Path:
        self.count += 1
        return self.folder / f"{name}{self.count}"

    def load_path(self, path: Path, *options: str) -> Said:
        faults = self.path("faults").with_suffix(".csv")
        said = run("import_workbook", str(path), "--faults", str(faults), *options)
        rows = []
        if faults.exists():
            with faults.open(encoding="utf-8", newline="") as file:
                rows = list(csv.DictReader(file))
        return Said(said.failed, said.out, said.err, rows)

    def load(self, *options: str, **sheets: str) -> Said:
        return self.load_path(write(self.path(), sheets), *options)

    def must(self, *options: str, **sheets: str) -> Said:
        """Load what has to go in without a fault."""
        said = self.load(*options, **sheets)
        assert not said.failed, said.rows or said.err
        return said

    def due(self, as_of: str, *options: str) -> list[dict]:
        return rows_of("due_list", "--as-of", as_of, *options)

    def due_of(self, tag: str, as_of: str, activity: str = "") -> dict:
        """The one row of a tag."""
        found = [
            row
            for row in self.due(as_of)
            if row["tag"] == tag and activity in ("", row["activity"])
        ]
        assert len(found) == 1, found
        return found[0]

    def review(self, device: str, setting: str, as_of: str = "") -> dict:
        """The one row of a device's setting."""
        rows = rows_of("settings_review", *(["--as-of", as_of] if as_of else []))
        found = [row for row in rows if (row["device"], row["setting"]) == (device, setting)]
        assert len(found) == 1, found
        return found[0]

    def export(self, name: str = "export", *options: str) -> dict[str, bytes]:
        """Every sheet of the workbook, as bytes."""
        path = self.path(name)
        said = run("export_workbook", str(path), *options)
        assert not said.failed, said.err
        return {file.stem: file.read_bytes() for file in sorted(path.glob("*.csv"))}


def rows_of(*arguments: str) -> list[dict]:
    said = run(*arguments, "--format", "json")
    assert not said.failed, said.err
    return json.loads(said.out)["rows"]
