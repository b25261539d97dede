"""The rows of the positions sheet."""

from inspections.demo import plan
from inspections.demo.devices import rated_capacity
from inspections.demo.dice import Dice
from inspections.demo.plant import POSITIONS, Position

VACUUM = {"PVV-44": "-0.6 kPag", "PVV-81": "-0.4 kPag"}


def position_rows() -> list[dict[str, object]]:
    rows = [_row(position) for position in POSITIONS]
    by_tag = {row["tag"]: row for row in rows}
    for (tag, column), said in plan.POSITION_CELLS.items():
        by_tag[tag][column] = said
    return rows


def _row(position: Position) -> dict[str, object]:
    group = position.group
    start = plan.ENTERED.get(position.tag, group.start)
    return {
        "site": position.site,
        "tag": position.tag,
        "unit": group.unit,
        "equipment": position.equipment,
        "equipment_mawp": group.pressure(group.mawp),
        "duty_role": group.role,
        "set_pressure": group.pressure(group.set),
        "vacuum_set": VACUUM.get(group.tags, ""),
        "cold_test_pressure": group.cdtp_text,
        "back_pressure": group.pressure(group.back) if group.back else "",
        "back_pressure_kind": group.kind or "none",
        "temperature_multiplier": group.multiplier,
        "fluid": group.fluid,
        "phase": group.phase,
        "severity": group.severity,
        "discharge": group.discharge,
        "isolation": group.isolation,
        "tolerance": group.tolerance,
        "required_capacity": rated_capacity(group, Dice("duty", position.tag).whole(55, 92)),
        "in_service_on": start.isoformat()[:7] if start and group.unit == "Biogas" else start,
        "commissioned_on": start,
        "status": "standby" if position.is_standby else "in_service",
    }
