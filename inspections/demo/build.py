"""Builds the demo's sheets: `python -m inspections.demo.build fixtures/demo`."""

import sys
from pathlib import Path

from inspections.demo import devices, happened, obligations, own_rules, register, sheets
from inspections.demo.arranged import arrangement_rows
from inspections.demo.calendar_of_work import job_hours_rows, outage_rows
from inspections.demo.catalog import setting_point_rows
from inspections.demo.decided import DECISIONS, DEFERRALS, at_site
from inspections.demo.history import live
from inspections.demo.twists import correct, twist
from inspections.demo.world import (
    Record,
    World,
    inspection_row,
    installation_row,
    number_records,
)

Rows = list[dict[str, object]]


def tables() -> dict[str, Rows]:
    """Every sheet's rows, the same on every run."""
    world = World()
    live(world)
    twist(world)
    number_records(world.records)
    correct(world)
    spells = sorted(world.spells, key=lambda s: (s.installed_on, s.position.tag))
    return {
        "rules": own_rules.rule_rows(),
        "tolerances": own_rules.tolerance_rows(),
        "positions": register.position_rows(),
        "devices": [devices.row(device) for device in world.devices],
        "setting_points": setting_point_rows(),
        "installations": [installation_row(spell) for spell in spells],
        "changes": happened.change_rows(),
        "arrangements": arrangement_rows(),
        "triggers": happened.trigger_rows(),
        "counters": happened.counter_rows(),
        "out_of_service": happened.out_of_service_rows(),
        "obligations": obligations.obligation_rows(),
        "decisions": obligations.decision_rows() + at_site(DECISIONS),
        "inspections": [inspection_row(record) for record in world.records],
        "settings": _children(world.records, "settings"),
        "findings": _children(world.records, "findings"),
        "outages": outage_rows(),
        "deferrals": at_site(DEFERRALS),
        "job_hours": job_hours_rows(),
    }


def _children(records: list[Record], name: str) -> Rows:
    return [{"ref": record.ref, **row} for record in records for row in getattr(record, name)]


def build(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for sheet, rows in tables().items():
        sheets.write(folder, sheet, rows)


if __name__ == "__main__":
    build(Path(sys.argv[1]))
