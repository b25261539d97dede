"""The committed demo sheets, read with nothing but the standard library."""

import csv
import json
from collections import defaultdict
from datetime import date
from functools import cache
from pathlib import Path

from fleet.calc.bands import checked_tolerance
from fleet.calc.intervals import Shape, shape_from
from fleet.calc.library import Tolerance, rules, tolerances

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "demo"


def rows(sheet: str) -> list[dict[str, str]]:
    with (FOLDER / f"{sheet}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def known_rules() -> dict[str, Shape]:
    """The library's and the owners' own."""
    own = {r["id"]: shape_from(r["kind"], json.loads(r["parameters"])) for r in rows("rules")}
    return {code: rule.shape for code, rule in rules().items()} | own


@cache
def known_tolerances() -> dict[str, Tolerance]:
    return dict(tolerances()) | {row["id"]: _tolerance(row) for row in rows("tolerances")}


def _tolerance(row: dict[str, str]) -> Tolerance:
    definition = {"basis": row["basis"], "bands": [{"low": row["low"], "high": row["high"]}]}
    if row["atmosphere"]:
        definition["atmosphere"] = row["atmosphere"]
    return checked_tolerance(row["id"], definition)


def day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def grouped(found: list[dict[str, str]], column: str) -> dict[str, list[dict[str, str]]]:
    groups = defaultdict(list)
    for row in found:
        groups[row[column]].append(row)
    return groups
