"""The findings sheet: what was seen on each part. Rows of one part keep their order."""

from collections import Counter

from fleet.exchange import cells
from fleet.exchange.sheets import Column, Row, Sheet
from inspections.models import Finding

SHEET = Sheet(
    "findings",
    ("ref", "part", "n"),
    (
        Column("ref", cells.text(80), required=True),
        Column("part", cells.text(80), required=True),
        Column("condition", cells.text(200), required=True),
        Column("action", cells.text(200)),
        Column("measure", cells.text(80)),
        Column("value", cells.text(60)),
    ),
)
PLAIN = ("condition", "action", "measure", "value")


def findings_of(rows: list[Row]) -> list[Finding]:
    """The findings of one record."""
    found, seen = [], Counter[str]()
    for row in rows:
        seen[row["part"]] += 1
        finding = Finding(part=row["part"], order=seen[row["part"]])
        for name in PLAIN:
            setattr(finding, name, row[name] or "")
        found.append(finding)
    return found


def differences(row: Row, finding: Finding, stored: Finding | None) -> list[tuple[str, object]]:
    """(column, what is stored) wherever a row says something else."""
    if stored is None:
        return [("part", None)]
    return [
        (name, getattr(stored, name))
        for name in PLAIN
        if row.given(name) and getattr(finding, name) != getattr(stored, name)
    ]


def cells_of(finding: Finding) -> dict[str, str]:
    return {"part": finding.part} | {name: getattr(finding, name) for name in PLAIN}
