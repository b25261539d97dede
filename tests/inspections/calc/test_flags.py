"""Flags that are facts: each shown raised, not raised, and past its window."""

from dataclasses import replace

import pytest

from fleet.calc.units import LENGTH, NOTCHES, parse_quantity
from inspections.calc.flags import Looking, flags_of
from inspections.calc.movements import series
from tests.inspections.calc.histories import FLAT, pop, pops, psig, rings, setting, visit

RING = Looking(positive="up", required=True)


def raised(name, visits, looking=RING):
    return {flag.code: flag.reason for flag in flags_of(series(name, visits), looking)}


def test_a_quiet_ring_raises_nothing():
    assert raised("lower_ring", rings(*[("-7 notches", "-7 notches")] * 5)) == {}


def test_moved_in_service_names_amount_direction_day_and_record():
    visits = rings(("-7 notches", "-7 notches"), ("-4 notches", "-4 notches"))
    assert raised("lower_ring", visits) == {
        "moved_in_service": "3 notches up in service, 2016-03-01 (R-2016)"
    }
    down = raised("lower_ring", visits, replace(RING, positive="down"))
    assert down["moved_in_service"].startswith("3 notches down in service")
    unsaid = raised("lower_ring", visits, Looking())
    assert unsaid["moved_in_service"].startswith("+3 notches in service")


# Resolutions by common practice: one notch, 1/64 in, 1/8 turn; beyond means more than one step.
@pytest.mark.parametrize(
    ("left", "found", "moved"),
    [
        ("7 notches", "8 notches", False),
        ("7 notches", "9 notches", True),
        ("5/16 in", "21/64 in", False),
        ("5/16 in", "11/32 in", True),
        ("15 1/4 turns", "15 3/8 turns", False),
        ("15 1/4 turns", "15 1/2 turns", True),
    ],
)
def test_one_step_of_the_resolution_is_no_movement(left, found, moved):
    visits = [visit(2015, None, setting(left)), visit(2016, setting(found), setting(found))]
    assert ("moved_in_service" in raised("ring", visits, Looking())) is moved


def test_the_setting_points_resolution_outranks_the_default():
    coarse = Looking(resolution=parse_quantity("3 notches", (NOTCHES,)))
    visits = rings(("6 notches", "6 notches"), ("9 notches", "9 notches"))
    assert raised("lower_ring", visits, coarse) == {}


def test_someone_keeps_resetting_the_ring():
    visits = rings(*[("-5 notches", "-7 notches"), ("-7 notches", "-5 notches")] * 2)
    assert raised("lower_ring", visits)["reset_repeatedly"] == (
        "reset in 4 of the last 5 overhauls: 2 notches down on 2015-03-01, 2 notches up on"
        " 2016-03-01, 2 notches down on 2017-03-01, 2 notches up on 2018-03-01"
    )


def test_two_resets_are_not_yet_repeated_and_old_ones_lapse():
    moved, still = ("-5 notches", "-7 notches"), ("-7 notches", "-7 notches")
    assert "reset_repeatedly" not in raised("lower_ring", rings(moved, moved, still, still))
    old = rings(moved, moved, moved, still, still, still)
    assert "reset_repeatedly" not in raised("lower_ring", old)
    assert "reset_repeatedly" in raised("lower_ring", old, replace(RING, overhauls=6))
    assert "reset_repeatedly" in raised("lower_ring", rings(moved, moved), replace(RING, resets=2))


@pytest.mark.parametrize("name", ["compression_screw", "set_pressure"])
def test_restoring_set_pressure_is_no_repeated_reset(name):
    turned = rings(*[("15 turns", "16 turns")] * 4)
    visits = turned if name == "compression_screw" else pops(*[("95", "100")] * 4)
    assert "reset_repeatedly" not in raised(name, visits)


def test_set_pressure_moves_beyond_its_band():
    visits = pops(("100", "100"), ("97", "100"), ("96.9", "101"), ("104", "100"))
    assert raised("set_pressure", visits)["moved_in_service"] == (
        "-3.1 % of CDTP in service, 2017-03-01 (R-2017), beyond -3.00/+3.00 %"
    )  # 104 found after 101 left moved 3 %: at the limit, not beyond


def test_a_bound_beyond_the_band_has_moved_and_one_inside_is_unknown():
    never = [
        *pops((None, "100")),
        visit(2016, pop("106.1", no_lift=True), pop("100"), method="bench"),
    ]
    assert raised("set_pressure", never)["moved_in_service"].startswith("more than +6.1 % of CDTP")
    short = [
        *pops((None, "100")),
        visit(2016, pop("102", no_lift=True), pop("100"), method="bench"),
    ]
    assert "moved_in_service" not in raised("set_pressure", short, Looking())


def test_out_of_tolerance_names_pop_verdict_and_band():
    """LER 388/2009-001 ..0085: 1123 psig against 1175, limit +/- 3 %."""
    found = raised("set_pressure", pops(("1123", "1175"), cdtp=1175))
    assert found["out_of_tolerance"] == (
        "first pop 1123 psig was low, 2015-03-01 (R-2015); band 1139.75 psig to 1210.25 psig"
    )


def test_sticking():
    """LER 247/2016-001: 1125 high, then 1038 and 1037 unadjusted."""
    visits = pops(("1125", "1065"), cdtp=1065, later_pops=(psig(1038), psig(1037)))
    found = raised("set_pressure", visits)
    assert found["sticking"] == (
        "first pop 1125 psig was high, later ones 1038 psig, 1037 psig, 2015-03-01 (R-2015)"
    )
    assert "out_of_tolerance" in found  # the later pops erase nothing


def test_a_required_record_that_is_missing():
    visits = rings((None, "7 notches"), ("7 notches", "7 notches"))
    visits[0] = replace(visits[0], missing_reason="sheet lost in the flood")
    assert raised("lower_ring", visits)["record_missing"] == (
        "no as-found recorded, 2015-03-01 (R-2015): sheet lost in the flood"
    )
    assert "record_missing" not in raised("lower_ring", visits, replace(RING, required=False))
    assert "record_missing" not in raised("lower_ring", visits, replace(RING, overhauls=1))
    both = raised("lower_ring", rings((None, None)))
    assert both["record_missing"].startswith("no as-found and no as-left recorded")


def test_a_new_device_has_no_as_found_to_miss():
    visits = [visit(2015, None, pop("100"), method="maker")]
    assert raised("set_pressure", visits) == {}


def test_a_scrapped_device_has_no_as_left_to_miss():
    visits = [visit(2020, setting("7 notches"), None, goes_back=False)]
    assert "record_missing" not in raised("lower_ring", visits)


def test_datum_changed_also_across_a_missing_reading():
    visits = [
        visit(2015, setting("7 notches"), setting("7 notches")),
        visit(2016, setting("7 notches"), None),
        visit(2017, setting("9 notches", FLAT), setting("9 notches", FLAT)),
    ]
    assert raised("lower_ring", visits)["datum_changed"] == (
        "datum was from ring touching the disc holder, then from the flat on the seat,"
        " 2017-03-01 (R-2017)"
    )


def test_a_count_between_notches_is_implausible():
    found = raised("lower_ring", rings(("7 1/2 notches", "7 notches")), RING)
    assert found["implausible"] == (
        "as-found 7 1/2 notches is finer than 1 notch can be read, 2015-03-01 (R-2015)"
    )


def test_one_flag_gathers_all_its_visits():
    found = raised("set_pressure", pops(("95", "100"), ("105", "100")))
    assert found["out_of_tolerance"].count(";") == 3  # two sentences, each with its band


@pytest.mark.parametrize(
    ("again", "is_copied"),
    [("0.3035 in", True), ("0.3040 in", False), ("0.3036 in", False)],
)
def test_a_figure_finer_than_can_be_read_and_found_again_was_copied(again, is_copied):
    """To 0.001 in; 0.3040 in is on its scale and may be read twice, 0.3036 in is another figure."""
    step = parse_quantity("0.001 in", (LENGTH,))
    left = again if again == "0.3040 in" else "0.3035 in"
    visits = [visit(2015, None, setting(left)), visit(2017, setting(again), setting(again))]
    flags = flags_of(series("spring_height", visits), Looking(resolution=step))
    said = [flag.reason for flag in flags if flag.code == "implausible"]
    assert bool(said) is is_copied
    if said:
        assert "repeats the as-left of 2015-03-01 to the last digit" in said[0]
