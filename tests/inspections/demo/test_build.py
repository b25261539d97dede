"""The demo's sheets: built the same everywhere, and free of what the import calls a fault."""

import itertools
from collections import Counter
from datetime import date

import pytest

from fleet.calc.activities import ACTIVITIES
from fleet.calc.units import GAUGE, LENGTH, NOTCHES, TURNS, parse_quantity
from inspections.calc.verdicts import IN, Pop, band, verdict
from inspections.demo.build import build
from inspections.demo.plant import AS_OF
from inspections.demo.sheets import COLUMNS, SITES
from tests.inspections.demo.sheets import (
    FOLDER,
    day,
    grouped,
    known_rules,
    known_tolerances,
    rows,
)

MEASURES = {"notches": NOTCHES, "turns": TURNS, "length": LENGTH}


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    build(folder)
    return folder


@pytest.mark.parametrize("sheet", COLUMNS)
def test_a_rebuilt_sheet_is_byte_for_byte_the_committed_one(rebuilt, sheet):
    assert (rebuilt / f"{sheet}.csv").read_bytes() == (FOLDER / f"{sheet}.csv").read_bytes()


def test_the_folder_holds_the_sheets_and_nothing_else_and_is_small():
    assert {path.name for path in FOLDER.iterdir()} == {f"{sheet}.csv" for sheet in COLUMNS}
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 4_000_000


def test_the_plant_has_the_size_it_is_said_to_have():
    positions, devices, inspections = rows("positions"), rows("devices"), rows("inspections")
    assert 250 <= len(positions) <= 400
    assert len(devices) >= 500
    assert 2_500 <= len(inspections) <= 4_000
    assert len({row["unit"] for row in positions}) == 13
    assert {row["site"] for row in positions} == set(SITES)
    assert {row["kind"] for row in devices} == {
        "spring",
        "bellows",
        "pilot",
        "rupture_disc",
        "vent",
    }


@pytest.mark.parametrize(
    ("sheet", "key"),
    [
        ("positions", ("tag",)),
        ("devices", ("device",)),
        ("setting_points", ("maker", "model", "setting")),
        ("installations", ("tag", "installed_on")),
        ("obligations", ("tag", "activity", "rule")),
        ("decisions", ("tag", "activity", "from_on")),
        ("inspections", ("ref",)),
        ("settings", ("ref", "setting", "stage")),
        ("outages", ("name",)),
        ("deferrals", ("tag", "activity", "due_on")),
        ("job_hours", ("activity", "kind")),
        ("rules", ("id",)),
        ("tolerances", ("id",)),
        ("changes", ("tag", "field", "from_on")),
        ("arrangements", ("arrangement", "tag")),
        ("triggers", ("tag", "kind", "happened_on")),
        ("counters", ("tag", "counter", "read_on")),
        ("out_of_service", ("tag", "from_on")),
    ],
)
def test_a_key_stands_once(sheet, key):
    keys = Counter(tuple(row[column] for column in key) for row in rows(sheet))
    assert [key for key, count in keys.items() if count > 1] == []


@pytest.mark.parametrize("whose", ["tag", "device"])
def test_spells_never_overlap(whose):
    for spells in grouped(rows("installations"), whose).values():
        spells.sort(key=lambda row: row["installed_on"])
        for row in spells:
            assert not row["removed_on"] or row["installed_on"] < row["removed_on"]
        for before, after in itertools.pairwise(spells):
            assert before["removed_on"] and before["removed_on"] <= after["installed_on"]


def test_every_tag_device_and_ref_named_anywhere_exists():
    tags = {row["tag"] for row in rows("positions")}
    devices = {row["device"] for row in rows("devices")}
    refs = {row["ref"] for row in rows("inspections")}
    for sheet in (
        *("installations", "obligations", "decisions", "deferrals", "inspections", "changes"),
        *("arrangements", "triggers", "counters", "out_of_service"),
    ):
        assert {row["tag"] for row in rows(sheet)} - tags <= {""}
    for sheet in ("installations", "inspections"):
        assert {row["device"] for row in rows(sheet)} <= devices
    for sheet in ("settings", "findings"):
        assert {row["ref"] for row in rows(sheet)} <= refs
    assert {row["corrects"] for row in rows("inspections")} - refs <= {""}


def test_rules_tolerances_and_activities_are_known():
    assert {row["rule"] for row in rows("obligations")} <= set(known_rules())
    assert {row["tolerance"] for row in rows("positions")} - set(known_tolerances()) <= {""}
    for sheet in ("obligations", "decisions", "inspections", "job_hours"):
        assert {row["activity"] for row in rows(sheet)} <= set(ACTIVITIES)


@pytest.mark.parametrize(
    ("sheet", "columns"),
    [
        ("installations", ("installed_on", "removed_on")),
        ("inspections", ("done_on", "signed_on")),
        ("decisions", ("from_on",)),
        ("deferrals", ("approved_on", "notified_on")),
    ],
)
def test_no_fact_is_dated_after_the_last_day(sheet, columns):
    dates = [day(row[column]) for row in rows(sheet) for column in columns]
    assert max(filter(None, dates)) <= AS_OF == date(2026, 10, 31)


def test_two_people_stand_behind_every_verified_record():
    inspections = rows("inspections")
    assert all(row["done_by"] and row["done_by"] != row["verified_by"] for row in inspections)
    assert [row["signed_on"] for row in inspections if not row["verified_by"]] == [""]
    assert all(row["signed_on"] >= row["done_on"] for row in inspections if row["verified_by"])


def test_one_equipment_has_one_allowable_pressure():
    for equipment in grouped(rows("positions"), "equipment").values():
        assert len({row["equipment_mawp"] for row in equipment}) == 1


def test_every_as_left_pop_is_inside_the_band_of_its_set_pressure():
    positions = {row["tag"]: row for row in rows("positions")}
    served = {row["device"]: positions[row["tag"]] for row in rows("installations")}
    devices = {row["device"]: row for row in rows("devices")}
    known, checked = known_tolerances(), 0
    for row in rows("inspections"):
        position = served.get(row["device"])
        if row["as_left_pop"] and position:
            set_typed = devices[row["device"]]["nameplate_set"]
            pressure = parse_quantity(set_typed, (GAUGE,))
            cdtp = parse_quantity(row["cold_test_pressure"] or set_typed, (GAUGE,))
            allowed = band(known[position["tolerance"]], pressure, cdtp)
            left = Pop(parse_quantity(row["as_left_pop"], (GAUGE,)))
            assert verdict(left, allowed) == IN, row["ref"]
            checked += 1
    assert checked > 1_500


def test_every_setting_reads_in_the_measure_of_its_point():
    points = {(row["model"], row["setting"]): row for row in rows("setting_points")}
    models = {row["device"]: row["model"] for row in rows("devices")}
    inspected = {row["ref"]: row["device"] for row in rows("inspections")}
    for row in rows("settings"):
        setting = "single_ring" if row["setting"] == "adjusting ring" else row["setting"]
        point = points[models[inspected[row["ref"]]], setting]
        if row["value"]:
            parse_quantity(row["value"], (MEASURES[point["measure"]],))
        else:
            assert row["missing_reason"]


def test_a_device_without_a_spell_that_holds_is_not_called_fitted():
    fitted = {row["device"] for row in rows("installations") if not row["removed_on"]}
    for row in rows("devices"):
        assert row["status"] == "available" or row["device"] not in fitted
