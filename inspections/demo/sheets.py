"""The sheets as they are written: exact columns in order, UTF-8, commas, `\\n` line ends."""

import csv
from collections.abc import Iterable, Mapping
from pathlib import Path

SITE = "Vellin Strand"
SHIP, STATION = "MT Pellin Grace", "Dunmarrow Point"
SITES = (SITE, SHIP, STATION)

COLUMNS = {
    "rules": "id replaces kind parameters citation edition from_on",
    "tolerances": "id low high floor basis atmosphere bands citation from_on",
    "positions": "site tag unit equipment equipment_mawp duty_role set_pressure vacuum_set"
    " cold_test_pressure back_pressure back_pressure_kind temperature_multiplier fluid phase"
    " severity discharge isolation tolerance required_capacity in_service_on commissioned_on"
    " status moc note",
    "devices": "device serial maker model kind nameplate_set spring_range inlet outlet orifice"
    " seat rated_capacity spring spring_rate screw_lead seat_diameter burst_temperature lot"
    " status shelf_expires_on note",
    "setting_points": "maker model setting measure datum positive resolution required synonyms"
    " limit_low limit_high source",
    "installations": "site tag device installed_on removed_on override_reason by",
    "changes": "site tag field from_on value moc by",
    "arrangements": "site arrangement kind tag role",
    "triggers": "site tag kind happened_on note",
    "counters": "site tag counter read_on value",
    "out_of_service": "site tag from_on to_on how by",
    "obligations": "site tag activity rule counts_from shelf_limit season group from_on until_on"
    " note",
    "decisions": "site tag activity from_on interval act_by reason evidence decided_by",
    "inspections": "ref site tag device activity done_on done_by verified_by signed_on shop"
    " shop_authorization certificate witnessed_by method medium cold_test_pressure first_pop"
    " first_pop_result later_pops no_lift_at waived_reason as_left_pop reseat leak_rate gauge"
    " gauge_range gauge_accuracy gauge_due_on seal_found seal_left typed_deviation disposition"
    " corrects remarks",
    "settings": "ref setting stage value datum missing_reason changed_reason changed_by note",
    "findings": "ref part condition action measure value",
    "outages": "site name units starts_on ends_on freeze_on bench_hours weekly_hours status",
    "deferrals": "site tag activity due_on until_on policy reason interim_measure document"
    " notified_on approved_by approved_on",
    "job_hours": "activity kind hours",
}


def write(folder: Path, sheet: str, rows: Iterable[Mapping[str, object]]) -> None:
    """One sheet; None is an empty cell. A column that the sheet has not is an error."""
    with (folder / f"{sheet}.csv").open("w", encoding="utf-8", newline="") as file:
        names = COLUMNS[sheet].split()
        writer = csv.DictWriter(file, names, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
