"""Each planted story is on its device and tag, and says what the sheets say."""

from fractions import Fraction

import pytest

from fleet.calc.units import GAUGE, NOTCHES, parse_quantity
from inspections.calc.verdicts import deviation_percent
from inspections.demo.stories import STORIES
from tests.inspections.demo.sheets import grouped, rows

BY_KEY = {story.key: story for story in STORIES}


def pressure(text):
    return parse_quantity(text, (GAUGE,))


def records(key, *, year="", activity="overhaul"):
    """The device's records of one story, oldest first."""
    device = BY_KEY[key].device
    return [
        row
        for row in rows("inspections")
        if (row["device"], row["activity"]) == (device, activity)
        and row["done_on"].startswith(year)
    ]


def readings(record, setting, stage):
    wanted = (record["ref"], setting, stage)
    found = (r for r in rows("settings") if (r["ref"], r["setting"], r["stage"]) == wanted)
    return next(found, None)


def off_by(record) -> Fraction:
    nameplate = {row["device"]: row["nameplate_set"] for row in rows("devices")}
    cdtp = record["cold_test_pressure"] or nameplate[record["device"]]
    return deviation_percent(pressure(record["first_pop"]), pressure(cdtp))


def test_there_are_enough_stories_with_different_names():
    assert len(STORIES) == len(BY_KEY) >= 12


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.key)
def test_a_story_names_a_device_and_a_tag_that_exist_and_met(story):
    devices = {row["device"] for row in rows("devices")}
    tags = {row["tag"] for row in rows("positions")}
    assert story.text.endswith(".") and story.where
    assert story.tag or story.device
    assert not story.device or story.device in devices
    assert not story.tag or story.tag in tags
    if story.tag and story.device:
        spells = {(row["tag"], row["device"]) for row in rows("installations")}
        assert (story.tag, story.device) in spells


def test_the_weakening_spring_opens_below_its_band_three_times_running():
    first_pops = [off_by(record) for record in records("weakening_spring")]
    assert all(percent < -3 for percent in first_pops[-3:])
    assert all(percent > -3 for percent in first_pops[:-3])


def test_the_moved_rings_are_found_where_they_were_left_and_then_moved():
    history = records("moved_rings")
    found = [readings(record, "lower_ring", "as_found") for record in history]
    left = [readings(record, "lower_ring", "as_left") for record in history]
    assert [r["value"] for r in found[1:]] == [r["value"] for r in left[:-1]]
    moves = [
        parse_quantity(b["value"], (NOTCHES,)).magnitude
        - parse_quantity(a["value"], (NOTCHES,)).magnitude
        for a, b in zip(found, left, strict=True)
    ]
    assert min(moves) < 0 < max(moves) and 0 not in moves
    assert {r["changed_by"] for r in left} == {"Tobias Okell"}


def test_the_traveller_has_served_at_four_tags():
    spells = grouped(rows("installations"), "device")[BY_KEY["travelled"].device]
    assert len({row["tag"] for row in spells}) >= 4


def test_the_machined_seat_gives_the_rings_a_new_datum():
    machined = records("datum_machined", year="2021")[0]
    assert readings(machined, "lower_ring", "as_found")["datum"] == ""
    assert "machined" in readings(machined, "lower_ring", "as_left")["datum"]


def test_the_lost_sheet_says_why_every_setting_is_missing():
    lost = records("lost_sheet", year="2020")[0]
    settings = [row for row in rows("settings") if row["ref"] == lost["ref"]]
    assert settings and all(row["missing_reason"] and not row["value"] for row in settings)


def test_the_sticking_valve_opens_high_once_and_then_near_its_set():
    sticking = records("sticking", year="2025")[0]
    second = pressure(sticking["later_pops"].split("; ")[0])
    assert off_by(sticking) > 7
    assert abs(deviation_percent(second, pressure("250 psig"))) < 1
    before, after = (readings(sticking, "compression_screw", s) for s in ("as_found", "as_left"))
    assert before["value"] == after["value"]


def test_the_typed_percentage_is_not_what_its_pressures_give():
    typed = records("typed_percentage", year="2023")[0]
    assert typed["typed_deviation"] == "-1.4 %"
    assert off_by(typed) <= -4


def test_the_waived_test_has_a_reason_and_no_first_pop():
    waived = records("fouled_waived", year="2024")[0]
    assert waived["waived_reason"] and not waived["first_pop"] and waived["as_left_pop"]


def test_the_stuck_valve_gives_a_bound_and_no_pop():
    stuck = records("stuck_shut", year="2021")[0]
    assert (stuck["first_pop"], stuck["no_lift_at"]) == ("", "675 psig")


def test_the_set_pressure_is_above_what_its_vessel_allows():
    place = next(row for row in rows("positions") if row["tag"] == "PSV-1207")
    assert pressure(place["set_pressure"]) > pressure(place["equipment_mawp"])


def test_the_swapped_valve_never_stood_at_the_tag_on_its_sheet():
    story = BY_KEY["wrong_tag"]
    sheet = records("wrong_tag", year="2025")[0]
    served = {r["tag"] for r in rows("installations") if r["device"] == story.device}
    assert sheet["tag"] == "PSV-1408" not in served


def test_the_expired_spare_is_on_the_shelf():
    spare = next(r for r in rows("devices") if r["device"] == BY_KEY["shelf_expired"].device)
    assert (spare["status"], spare["shelf_expires_on"]) == ("available", "2026-06-30")


def test_the_gauge_was_out_of_date_and_no_other_was():
    late = [
        r for r in rows("inspections") if r["gauge_due_on"] and r["gauge_due_on"] < r["done_on"]
    ]
    assert [row["device"] for row in late] == [BY_KEY["gauge_out_of_date"].device]


def test_one_model_opened_low_more_than_once_in_one_outage():
    low = [
        row
        for row in rows("inspections")
        if row["tag"].startswith("PSV-15")
        and row["activity"] == "overhaul"
        and row["done_on"].startswith("2025")
        and off_by(row) < Fraction(-200, 51)  # 2 psi of 51: the band at or below 70 psi
    ]
    assert len(low) >= 2


def test_the_screw_turned_further_than_its_spring_allows():
    """Pressure per turn = rate x lead / seat area (statics); 700 psig came with under 12 turns."""
    record = records("implausible_turns", year="2024")[0]
    values = [readings(record, "compression_screw", s)["value"] for s in ("as_found", "as_left")]
    assert values == ["16 1/2 turns", "22 1/2 turns"]
    assert abs(off_by(record)) < 1


def test_the_correction_points_at_the_record_it_corrects():
    original, correction = sorted(records("corrected", year="2022"), key=lambda r: r["ref"])
    assert correction["corrects"] == original["ref"]
    assert (original["first_pop"], correction["first_pop"]) == ("156 psig", "165 psig")
