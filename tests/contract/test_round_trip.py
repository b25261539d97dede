"""Out, into an empty database, and out again: the same bytes. The workbook's own contract.

The values are meant to hurt: quotes, line ends, leading signs, fractions, partial days, words of
other alphabets, tags that moved, two sites that use one tag.
"""

import csv
import io

import pytest
from django.db import transaction

from tests.contract.plant import Plant, run

NOTE = 'He said "no"; then,\nnext line\ttab ⅜ – Größe Ω 測試 \U0001f527'
POSITIONS = [
    ["site", "tag", "unit", "equipment", "equipment_mawp", "duty_role", "set_pressure",
     "vacuum_set", "cold_test_pressure", "back_pressure", "back_pressure_kind",
     "temperature_multiplier", "fluid", "phase", "severity", "discharge", "isolation", "tolerance",
     "required_capacity", "in_service_on", "commissioned_on", "status", "moc", "note"],
    ["Nord, „See“", "=PSV-1", "Stills", "V-1", "150 psi", "additional", "150 psi",
     "-0.5 kPag", "132.6 psig", "20 psig", "constant", "1.02000", "H₂O", "two_phase", "severe",
     "flare", "block_with_spare", "asme8", "1200 scfm", "2011-03", "2011", "standby", "M-1", NOTE],
    ["Nord, „See“", "PSV-2", "+Boilers", "", "", "", "7 kg/cm2g", "", "", "", "", "", "", "",
     "", "", "", "", "24270 kg/h", "", "", "", "", "=1+1"],
    ["Süd", "PSV-2", "-U", "", "", "", "25 mmH2Og", "", "", "", "", "", "", "", "", "", "",
     "iso4126", "", "", "", "removed", "", "   "],
]  # fmt: skip
DEVICES = [
    ["device", "serial", "maker", "model", "kind", "nameplate_set", "spring_range", "inlet",
     "outlet", "orifice", "seat", "rated_capacity", "spring", "spring_rate", "screw_lead",
     "seat_diameter", "burst_temperature", "lot", "status", "shelf_expires_on", "note"],
    ["00123", "00123", "Quay", "Q2", "bellows", "10,3 barg", "100-160 psig", '2" 300#', '3"',
     "J", "metal", "50 gpm", "S/1", "2000 lb/in", "1/8 in", "2 1/16 in", "72 degF", "L1",
     "quarantined", "2027-01-31", NOTE],
    ["1E5", "", "", "Q2", "spring", "", "", "", "", "", "", "", "", "", "", "", "", "", "", "",
     "'quoted"],
    ["2011-03", "-7", "Kai", "Q2", "rupture_disc", "", "", "", "", "", "", "", "", "", "", "", "",
     "", "", "", "n/a"],
]  # fmt: skip
BOOK = {
    "positions": POSITIONS,
    "devices": DEVICES,
    "setting_points": [
        ["maker", "model", "setting", "measure", "datum", "positive", "resolution", "required",
         "synonyms", "limit_low", "limit_high", "source"],
        ["Quay", "Q2", "lower_ring", "notches", "flat, on “seat”", "up", "1 notch", "yes",
         "nozzle ring; düse", "-20 notches", "20 notches", "manual p. 3"],
        ["Quay", "Q2", "spring_height", "length", "top", "down", "1/64 in", "no", "", "", "", ""],
    ],
    "installations": [
        ["site", "tag", "device", "installed_on", "removed_on", "override_reason", "by"],
        ["Nord, „See“", "=PSV-1", "00123", "2011", "2020-02-29", NOTE, "Ann O'Neil"],
        ["Süd", "PSV-2", "00123", "2020-02-29", "2021-05", "", "not recorded"],
        ["Nord, „See“", "PSV-2", "1E5", "2019-01-01", "", "", ""],
    ],
    "obligations": [
        ["site", "tag", "activity", "rule", "counts_from", "shelf_limit", "season", "group",
         "from_on", "until_on", "note"],
        ["Nord, „See“", "=PSV-1", "bench_test", "api510-process", "installed_on", "P1Y6M", "",
         "", "2012-01-01", "2025-01-01", NOTE],
        ["Nord, „See“", "=PSV-1", "bench_test", "by-history", "", "", "", "", "2025-01-01", "", ""],
        ["Süd", "PSV-2", "visual", "us-49cfr192.739", "commissioned_on", "", "", "", "", "", ""],
        ["Nord, „See“", "PSV-2", "bench_test", "eigene „1“", "", "", "", "", "", "2020-02-29", ""],
        ["Nord, „See“", "PSV-2", "bench_test", "=own-2", "", "", "", "", "2020-02-29",
         "2024-01-01", ""],
        ["Nord, „See“", "PSV-2", "lever", "nbic-heating", "", "", "10-01", "", "", "", ""],
        ["Nord, „See“", "PSV-2", "overhaul", "om-class1", "", "", "", "=Größe Ω", "", "", ""],
        ["Nord, „See“", "PSV-2", "visual", "us-40cfr63.165", "", "", "", "", "", "", ""],
        ["Nord, „See“", "=PSV-1", "lever", "us-49cfr230.50", "", "", "", "", "", "", ""],
    ],
    "decisions": [
        ["site", "tag", "activity", "from_on", "interval", "act_by", "reason", "evidence",
         "decided_by"],
        ["Nord, „See“", "=PSV-1", "bench_test", "2019-05-05", "P3Y", "2019-09-30", NOTE, "E-1",
         "Eve"],
        ["Nord, „See“", "=PSV-1", "bench_test", "2025-02-01", "P92D", "", "two low", "", "Eve"],
    ],
    "inspections": [
        ["ref", "site", "tag", "device", "activity", "done_on", "done_by", "verified_by",
         "signed_on", "shop", "shop_authorization", "certificate", "witnessed_by", "method",
         "medium", "cold_test_pressure", "first_pop", "first_pop_result", "later_pops",
         "no_lift_at", "waived_reason", "as_left_pop", "reseat", "leak_rate", "gauge",
         "gauge_range", "gauge_accuracy", "gauge_due_on", "seal_found", "seal_left",
         "typed_deviation", "disposition", "corrects", "remarks"],
        ["I 1", "Nord, „See“", "=PSV-1", "00123", "overhaul", "2012-03", "Ann O'Neil",
         "Bo Marsh", "2012-04-01", "Shop; Co", "VR-1", "C,1", "X", "bench", "air", "132.6 psig",
         "135 psig", "opened", "133 psig; 132.5 psi", "", "", "132.6 psig", "120 psig",
         "20 bubbles/min", "G-1", "0-300 psig", "0.25 %", "2013-01-01", "intact", "=7", "1.8 %",
         "repaired", "", NOTE],
        ["I 2", "", "", "00123", "bench_test", "2019-06-01", "not recorded", "", "", "", "", "",
         "", "", "", "", "", "", "", "160 psig", "", "", "", "", "", "", "", "", "", "", "",
         "scrapped", "", ""],
        ["I 3", "", "", "00123", "bench_test", "not recorded", "not recorded", "Bo Marsh", "", "",
         "", "", "", "", "", "", "", "", "", "", "too fouled", "150 psig", "", "", "", "", "", "",
         "", "", "", "", "", ""],
        ["I 4", "", "", "00123", "overhaul", "2012-03-05", "Ann O'Neil", "Bo Marsh", "", "", "",
         "", "", "", "", "", "", "leaked_first", "", "", "", "", "110 psig", "", "", "", "", "",
         "", "", "-1,4", "reinstalled", "I 1", "corrects"],
    ],
    "settings": [
        ["ref", "setting", "stage", "value", "datum", "missing_reason", "changed_reason",
         "changed_by", "note"],
        ["I 1", "düse", "as_found", "-7 notches", "", "", "", "", ""],
        ["I 1", "lower_ring", "as_left", "-7 notches", "flat, on “seat”", "", "", "", NOTE],
        ["I 4", "spring_height", "as_found", "1⅜ in", "", "", "", "", ""],
        ["I 4", "spring_height", "as_left", "1-3/8 in", "other; datum", "", "maker's letter",
         "Eve", "-"],
        ["I 4", "lower_ring", "as_left", "", "", "sheared", "", "", ""],
    ],
    "findings": [
        ["ref", "part", "condition", "action", "measure", "value"],
        ["I 1", "disc", "=scored", "lapped", "runout", "0.02 mm"],
        ["I 1", "disc", "b second", "", "", ""],
        ["I 1", "disc", "a third", "", "", ""],
        ["I 4", "stem", "@bent, “slightly”", "", "", ""],
    ],
    "outages": [
        ["site", "name", "units", "starts_on", "ends_on", "freeze_on", "bench_hours",
         "weekly_hours", "status"],
        ["Nord, „See“", "2027, spring", "+Boilers; Stills", "2027-01-01", "2027-01-01",
         "2026-12-01", "120.50", "40", "planned"],
    ],
    "deferrals": [
        ["site", "tag", "activity", "due_on", "until_on", "policy", "reason", "interim_measure",
         "document", "notified_on", "approved_by", "approved_on"],
        ["Nord, „See“", "=PSV-1", "bench_test", "2017-03-05", "2017-06-01", "single_postponement",
         NOTE, "=watch", "D-1", "2017-01-01", "Eve", "2017-01-02"],
    ],
    "changes": [
        ["site", "tag", "field", "from_on", "value", "moc", "by"],
        ["Nord, „See“", "PSV-2", "set_pressure", "2015-01-01", "7,5 kg/cm2g", "M-9", ""],
        ["Nord, „See“", "PSV-2", "tolerance", "2015-01-01", "iso4126", "M-9", ""],
        ["Nord, „See“", "PSV-2", "unit", "2016-01-01", "Stills", "", ""],
        ["Nord, „See“", "=PSV-1", "fluid", "2016-01-01", "!clear", "", ""],
        ["Süd", "PSV-2", "tag", "2016-01-01", "PSV-2A", "", ""],
        ["Süd", "PSV-2", "tolerance", "2016-01-01", "über", "", ""],
    ],
    "rules": [
        ["id", "replaces", "kind", "parameters", "citation", "edition", "from_on"],
        ["eigene „1“", "", "max_gap", '{"ceiling":"P8Y","gap":"P60M","out_of_service":"run"}',
         'Proc. "7", § 3', "=2019", ""],
        ["=own-2", "eigene „1“", "capped", '{"cap":"P5Y","target":"P4Y"}', "", "", "2020-02-29"],
        ["c", "=own-2", "usage", '{"count":92,"counter":"Größe \\"Ω\\" 測試"}', "c", "",
         "2024-01-01"],
    ],
    "tolerances": [
        ["id", "low", "high", "floor", "basis", "atmosphere", "bands", "citation", "from_on"],
        ["=ours", "-2 %", "3%", "0,1 barg", "gauge", "", "", NOTE, "2015-01-01"],
        ["über", "", "", "", "absolute", "14.7 psia",
         '[{"high":"2 psig","low":"-2 psig","system":"us","up_to":"70 psig"},{"from_memory":true,'
         '"high":"3 %","low":"-3 %"}]', "", ""],
    ],
    "arrangements": [
        ["site", "arrangement", "kind", "tag", "role"],
        ["Nord, „See“", '=A "1"', "multiple", "=PSV-1", "additional"],
        ["Nord, „See“", '=A "1"', "multiple", "PSV-2", "duty"],
        ["Nord, „See“", "B", "pilot", "=PSV-1", "pilot"],
        ["Nord, „See“", "B", "pilot", "PSV-2", "main"],
    ],
    "triggers": [
        ["site", "tag", "kind", "happened_on", "note"],
        ["Nord, „See“", "=PSV-1", "irregularity", "2024-02-29", NOTE],
        ["Nord, „See“", "PSV-2", "release", "2026-11-25", "=1+1"],
    ],
    "counters": [
        ["site", "tag", "counter", "read_on", "value"],
        ["Nord, „See“", "=PSV-1", "service_days", "2024-01-01", "0"],
        ["Nord, „See“", "=PSV-1", "service_days", "2024-02-29", "41.5"],
        ["Nord, „See“", "=PSV-1", "Größe, Ω", "2024-02-29", "1234567890.1234"],
    ],
    "out_of_service": [
        ["site", "tag", "from_on", "to_on", "how", "by"],
        ["Nord, „See“", "=PSV-1", "2012-02-29", "2013-01-01", NOTE, "not recorded"],
        ["Nord, „See“", "=PSV-1", "2013-01-01", "", "=blinded", "Ann O'Neil"],
    ],
    "job_hours": [["activity", "kind", "hours"], ["overhaul", "", "6.5"],
                  ["overhaul", "bellows", "8"]],
}  # fmt: skip


def stock(plant: Plant) -> None:
    folder = plant.path()
    folder.mkdir()
    for name, rows in BOOK.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
    said = plant.load_path(folder)
    assert not said.failed, said.rows


def rows_of(text: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.decode(), newline="")))


@pytest.mark.parametrize("kind", ["", ".zip", ".xlsx"])
def test_out_in_and_out_again(plant, kind):
    path = plant.path("way").with_suffix(kind)
    with transaction.atomic():
        stock(plant)
        before, due = plant.export(), (plant.due("2026-11-25"), plant.due("2016-06-01"))
        assert not run("export_workbook", str(path)).failed
        transaction.set_rollback(True)  # an empty database again
    assert plant.due("2026-11-25") == []
    said = plant.load_path(path)
    assert not said.failed, said.rows
    assert plant.export() == before
    assert (plant.due("2026-11-25"), plant.due("2016-06-01")) == due
    assert "0 differences" in run("verify_audit").out


NAMES = {"düse": "lower_ring", "1.02000": "1.02", "120.50": "120.5"}  # one way to write each
BY_TODAYS_TAG = {"installations", "obligations"}  # positions and changes go by the first tag


def test_every_cell_is_written_as_it_was_typed(plant):
    stock(plant)
    exported = plant.export()
    for name, (heads, *rows) in BOOK.items():
        found = rows_of(exported[name])
        for row in rows:
            cells = (NAMES.get(cell, cell.strip()) for cell in row)
            typed = {h: cell for h, cell in zip(heads, cells, strict=True) if cell}
            if typed.get("site") == "Süd" and name in BY_TODAYS_TAG:
                typed["tag"] = "PSV-2A"
            assert any(line | typed == line for line in found), (typed, found)


def test_one_site_of_two_goes_its_own_way(plant):
    """A device that came from the other site brings its record along; its new clock needs it."""
    path = plant.path("way")
    with transaction.atomic():
        plant.must(
            positions="site | tag | unit | set_pressure | tolerance\n"
            "N | A | U | 150 psig | asme8\nS | A | U | 150 psig | asme8",
            devices="device | kind\nD-1 | spring\nD-2 | spring",
            installations="site | tag | device | installed_on | removed_on\n"
            "N | A | D-1 | 2015-01-01 | 2020-01-01\nS | A | D-1 | 2020-01-01 |\n"
            "N | A | D-2 | 2020-01-01 |",
            obligations="site | tag | activity | rule\nS | A | bench_test | api510-process",
            inspections="ref | device | activity | done_on | done_by | verified_by | as_left_pop\n"
            "I | D-1 | bench_test | 2019-12-01 | Ann | Bo | 150 psig\n"
            "J | D-2 | bench_test | 2019-12-01 | Ann | Bo | 150 psig",
        )
        said = run("export_workbook", str(path), "--site", "S")
        assert "wrote inspections: 1 rows" in said.out
        due = plant.due("2021-01-01", "--site", "S")
        transaction.set_rollback(True)
    said = plant.load_path(path)
    assert not said.failed, said.rows
    assert plant.due("2021-01-01") == due and due[0]["due_on"] == "2024-12-01"
    again = plant.path("again")
    assert not run("export_workbook", str(again)).failed
    for file in path.iterdir():
        assert file.read_bytes() == (again / file.name).read_bytes(), file.name
