"""The committed demo sheets, read with nothing but the standard library."""

import csv
from collections import defaultdict
from datetime import date
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "demo"


def rows(sheet: str) -> list[dict[str, str]]:
    with (FOLDER / f"{sheet}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def grouped(found: list[dict[str, str]], column: str) -> dict[str, list[dict[str, str]]]:
    groups = defaultdict(list)
    for row in found:
        groups[row[column]].append(row)
    return groups
