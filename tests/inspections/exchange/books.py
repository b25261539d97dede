"""A small invented plant as a workbook, to be bent by each test."""

import csv
from copy import deepcopy
from datetime import UTC, datetime
from pathlib import Path

from fleet.actions.people import command_line_user
from inspections.exchange import Report, load

AT = datetime(2026, 10, 31, 9, tzinfo=UTC)
PLANT: dict[str, list[dict[str, str]]] = {
    "positions": [
        {
            "site": "Northmere",
            "tag": "PSV-1",
            "unit": "Stills",
            "equipment": "V-1",
            "equipment_mawp": "150 psig",
            "duty_role": "first",
            "set_pressure": "150 psig",
            "tolerance": "asme8",
            "in_service_on": "2010-03",
        },
        {
            "site": "Northmere",
            "tag": "PSV-2",
            "unit": "Stills",
            "equipment": "V-2",
            "equipment_mawp": "12 barg",
            "set_pressure": "10.3 barg",
            "tolerance": "iso4126",
        },
    ],
    "devices": [
        {"device": "D-1", "serial": "00123", "maker": "Quay", "model": "Q2", "kind": "spring"},
        {"device": "D-2", "serial": "00124", "maker": "Quay", "model": "Q2", "kind": "spring"},
        {"device": "D-3", "serial": "00125", "maker": "Quay", "model": "Q2", "kind": "spring"},
    ],
    "setting_points": [
        {
            "maker": "Quay",
            "model": "Q2",
            "setting": "lower_ring",
            "measure": "notches",
            "datum": "ring touching a flat on the seat",
            "positive": "up",
            "required": "yes",
            "synonyms": "nozzle ring; blowdown ring",
        }
    ],
    "installations": [
        {"tag": "PSV-1", "device": "D-1", "installed_on": "2020-01-10"},
        {"tag": "PSV-2", "device": "D-2", "installed_on": "2020-01-11"},
    ],
    "obligations": [{"tag": "PSV-1", "activity": "bench_test", "rule": "api510-process"}],
    "inspections": [
        {
            "ref": "I-1",
            "tag": "PSV-1",
            "device": "D-1",
            "activity": "overhaul",
            "done_on": "2024-05-02",
            "done_by": "Ann Lowe",
            "verified_by": "Bo Marsh",
            "first_pop": "152 psig",
            "as_left_pop": "150 psig",
        }
    ],
    "settings": [
        {"ref": "I-1", "setting": "lower_ring", "stage": "as_found", "value": "-7 notches"},
        {"ref": "I-1", "setting": "nozzle ring", "stage": "as_left", "value": "-7 notches"},
    ],
    "findings": [{"ref": "I-1", "part": "disc", "condition": "seat scored"}],
    "outages": [
        {"name": "Spring", "units": "Stills", "starts_on": "2027-04-01", "ends_on": "2027-04-20"}
    ],
    "job_hours": [{"activity": "overhaul", "hours": "6"}],
}  # fmt: skip


class Book:
    """A workbook; change `book["sheet"][row]["column"]`, then `book.load(folder)`."""

    def __init__(self, *sheets: str) -> None:
        self.sheets = deepcopy({k: v for k, v in PLANT.items() if not sheets or k in sheets})

    def __getitem__(self, sheet: str) -> list[dict[str, str]]:
        return self.sheets.setdefault(sheet, [])

    def write(self, folder: Path) -> Path:
        folder.mkdir(parents=True, exist_ok=True)
        for name, rows in self.sheets.items():
            columns = list(dict.fromkeys(column for row in rows for column in row))
            with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
                writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
                writer.writeheader()
                writer.writerows(rows)
        return folder

    def load(self, folder: Path, **options) -> Report:
        return load_folder(self.write(folder / "book"), **options)


def load_folder(path: Path, **options) -> Report:
    return load(path, by=command_line_user(at=AT), at=AT, **options)
