"""Importing a workbook, against bulk-inserting the same rows in one transaction.

`python -m tests.benchmarks.workbook [POSITIONS]`; ten overhauls a position. The floor writes every
row the import wrote (register, inspections with their pops and settings, events, spans, due lines,
audit entries), ready made, with no reading, no checks and no triggers.
"""

import csv
import sys
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from django.apps import apps
from django.db import connection, transaction

from fleet import locks
from inspections.exchange import load
from tests.benchmarks import plant
from tests.benchmarks.bench import compare, once, scratch

LIMIT, OVERHAULS = 3, 10
FIRST = date(2006, 3, 1)


def write_workbook(folder: Path, count: int) -> None:
    """A plain plant: one device a position, ten overhauls each, one ring as found and as left."""
    places = range(count)
    _sheet(
        folder,
        "positions",
        "site tag unit set_pressure tolerance",
        (["Bench", f"PSV-{n:06}", f"Unit {n // 500}", "150 psig", "asme8"] for n in places),
    )
    _sheet(
        folder,
        "devices",
        "device serial maker model kind",
        ([f"D-{n:06}", f"S{n:06}", "Maker", "M1", "spring"] for n in places),
    )
    _sheet(
        folder,
        "setting_points",
        "maker model setting measure datum positive",
        [["Maker", "M1", "lower_ring", "notches", "seat flat", "up"]],
    )
    _sheet(
        folder,
        "installations",
        "site tag device installed_on",
        (["Bench", f"PSV-{n:06}", f"D-{n:06}", FIRST.isoformat()] for n in places),
    )
    _sheet(
        folder,
        "obligations",
        "site tag activity rule",
        (["Bench", f"PSV-{n:06}", "overhaul", "api510-process"] for n in places),
    )
    _inspections(folder, count)


def _inspections(folder: Path, count: int) -> None:
    days = [
        (number, turn, FIRST + timedelta(days=100 + turn * 700 + number % 365))
        for number in range(count)
        for turn in range(OVERHAULS)
    ]
    _sheet(
        folder,
        "inspections",
        "ref site tag device activity done_on done_by verified_by first_pop as_left_pop",
        (
            [
                f"R{number:06}-{turn}",
                "Bench",
                f"PSV-{number:06}",
                f"D-{number:06}",
                "overhaul",
                day.isoformat(),
                f"Mechanic {number % 9}",
                "Verifier",
                f"{148 + (number + turn) % 5} psig",
                "150 psig",
            ]
            for number, turn, day in days
        ),
    )
    _sheet(
        folder,
        "settings",
        "ref setting stage value",
        (
            [f"R{number:06}-{turn}", "lower_ring", stage, f"-{7 + turn % 3} notches"]
            for number, turn, _ in days
            for stage in ("as_found", "as_left")
        ),
    )


def _sheet(folder: Path, name: str, columns: str, rows) -> None:
    with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns.split())
        writer.writerows(rows)


def everything() -> list[tuple[type, list]]:
    """Every row of the two apps, in an order in which they may be inserted again."""
    models = [m for app in ("fleet", "inspections") for m in apps.get_app_config(app).get_models()]
    return [(model, list(model._default_manager.order_by("pk"))) for model in models]


def insert(rows: list[tuple[type, list]]) -> None:
    with transaction.atomic(), connection.constraint_checks_disabled():
        for model, objects in rows:
            model._base_manager.bulk_create(objects, batch_size=plant.BATCH)


def clear(rows: list[tuple[type, list]]) -> None:
    with connection.cursor() as cursor, connection.constraint_checks_disabled():
        names = [model._meta.db_table for model, _ in rows]
        if connection.vendor == "postgresql":
            tables = ", ".join(f'"{name}"' for name in names)
            cursor.execute(f"TRUNCATE {tables} CASCADE")
            return
        cursor.execute("PRAGMA foreign_keys = OFF")
        for name in names:
            cursor.execute(f'DELETE FROM "{name}"')


def main(count: int) -> bool:
    with scratch(), TemporaryDirectory() as folder:
        write_workbook(Path(folder), count)
        by = plant.person()
        taken = once(lambda: _load(Path(folder), by))
        rows = everything()
        total = sum(len(objects) for _, objects in rows)
        print(f"{count} positions, {count * OVERHAULS} inspections, {total} rows")
        locks.lift(connection)
        clear(rows)
        base = once(lambda: insert(rows))
        return compare("import", taken, "bulk insert of the same rows", base, LIMIT)


def _load(folder: Path, by) -> None:
    report = load(folder, by=by, at=plant.AT)
    if report.faults:
        raise SystemExit("\n".join(str(fault) for fault in report.faults[:5]))


if __name__ == "__main__":
    sys.exit(not main(int(sys.argv[1]) if sys.argv[1:] else 20_000))
