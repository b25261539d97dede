"""Turns of the screw against the pressures recorded."""

import pytest

from fleet.calc.units import LENGTH, SPRING_RATE, parse_quantity
from inspections.calc.crosscheck import Thread
from inspections.calc.flags import Looking
from inspections.calc.movements import series
from inspections.calc.plausibility import Spring, height_flag, pressure_per_turn, screw_flag
from tests.inspections.calc.histories import pop, psig, setting, visit

# Worked from statics: 2,000 lb/in, 8 threads/in, 2.000 in seat.
SPRING = Spring(
    parse_quantity("2000 lb/in", (SPRING_RATE,)),
    parse_quantity("1/8 in", (LENGTH,)),
    parse_quantity("2.000 in", (LENGTH,)),
)
INWARD = Looking(positive="in")


def asked(turns, pressures, looking=INWARD, **more):
    screw = [visit(2015, setting(turns[0]), setting(turns[1]), **more)]
    pressure = [visit(2015, pop(pressures[0], 1000), pop(pressures[1], 1000), **more)]
    found = screw_flag(
        series("compression_screw", screw), series("set_pressure", pressure), SPRING, looking
    )
    return found.reason if found else ""


def test_worked_pressure_per_turn():
    assert f"{float(pressure_per_turn(SPRING)):.2f}" == "79.58"


def test_metric_inputs_give_the_same():
    metric = Spring(SPRING.rate.to("N/mm"), SPRING.lead.to("mm"), SPRING.seat_diameter.to("mm"))
    assert pressure_per_turn(metric) == pressure_per_turn(SPRING)
    assert float(pressure_per_turn(SPRING, "barg")) == pytest.approx(79.577 * 0.06894757, rel=1e-4)


@pytest.mark.parametrize(
    ("turns", "pressures", "questioned"),
    [
        (("15 turns", "16 turns"), ("920", "1000"), False),  # as the estimate says
        (("15 turns", "16 turns"), ("860", "1000"), False),  # within a factor of two
        (("15 turns", "16 turns"), ("700", "1000"), True),
        (("15 turns", "18 turns"), ("990", "1000"), True),  # three turns that did nothing
        (("15 turns", "15 turns"), ("970", "1000"), False),  # cleaning and lapping move a pop
        (("15 turns", "15 turns"), ("900", "1000"), True),  # a pressure that nobody set
        (("15 turns", "14 turns"), ("900", "1000"), True),  # the wrong way
        (("15 turns", "14 turns"), ("1080", "1000"), False),
    ],
)
def test_generous_by_a_factor_of_two_and_the_resolution(turns, pressures, questioned):
    assert bool(asked(turns, pressures)) is questioned


def test_the_question_gives_turns_estimate_and_pops():
    assert asked(("15 turns", "18 turns"), ("990", "1000")) == (
        "+3 turns of the screw should change the pop by about +239 psig, but it went from"
        " 990 psig to 1000 psig, 2015-03-01 (R-2015)"
    )


def test_a_screw_counted_outwards():
    outward = Looking(positive="out")
    assert asked(("15 turns", "14 turns"), ("920", "1000"), outward) == ""
    assert asked(("15 turns", "16 turns"), ("920", "1000"), outward)


def test_deposits_that_held_the_first_pop_are_no_question_of_the_screw():
    """The last pop before turning is the one the screw acted on."""
    assert asked(("15 turns", "15 turns"), ("1200", "1000"))
    later = (psig(1005),)
    assert asked(("15 turns", "15 turns"), ("1200", "1000"), later_pops=later) == ""


@pytest.mark.parametrize(
    ("turns", "looking", "more"),
    [
        (("15 turns", "18 turns"), Looking(positive="up"), {}),  # which way is up, for a screw?
        (("1 in", "1 3/8 in"), INWARD, {}),
        (("15 turns", "18 turns"), INWARD, {"renewed": "new spring"}),
        ((None, "18 turns"), INWARD, {}),
    ],
)
def test_nothing_is_asked_where_nothing_follows(turns, looking, more):
    assert asked(turns, ("990", "1000"), looking, **more) == ""


# 16 threads/in and 32 notches: 0.00195 in a notch, 155 notches 0.303 in (worked; US NRC IN 86-05
# tells of a ring recorded at +155 notches).
RING = Thread(parse_quantity("1/16 in", (LENGTH,)), 32)
UP = Looking(positive="up")
FINE = Looking(positive="up", resolution=parse_quantity("0.005 in", (LENGTH,)))


@pytest.mark.parametrize(
    ("notches", "heights", "questioned"),
    [
        (("0 notches", "155 notches"), ("0.000 in", "0.303 in"), False),
        (("0 notches", "155 notches"), ("0.000 in", "0.309 in"), False),  # a step of each method
        (("0 notches", "155 notches"), ("0.000 in", "0.320 in"), True),
        (("0 notches", "155 notches"), ("0.303 in", "0.000 in"), True),  # the wrong way
        (("0 notches", "0 notches"), ("0.100 in", "0.100 in"), False),
        (("0 notches", None), ("0.000 in", "0.303 in"), False),
    ],
)
def test_notches_are_held_against_a_measured_height(notches, heights, questioned):
    counted = series("lower_ring", [visit(2015, *(setting(text) for text in notches))])
    flat = "from the flat on the seat"
    read = [visit(2015, *(setting(text, flat) for text in heights))]
    flag = height_flag(counted, series("lower_ring_height", read), RING, UP, FINE)
    assert bool(flag) is questioned, flag
    if flag:
        assert "read both again, 2015-03-01 (R-2015)" in flag.reason


def test_a_new_disc_between_them_asks_nothing():
    read = [visit(2015, setting("0 notches"), setting("155 notches"), renewed="new disc")]
    height = [visit(2015, setting("0.000 in"), setting("0.000 in"), renewed="new disc")]
    found = height_flag(series("lower_ring", read), series("h", height), RING, UP, FINE)
    assert found is None
