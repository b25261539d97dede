"""Which stay a reading tells of, against the days walked one by one; the rule is the clock's own:
the installation decides which position a record counts for."""

import random
from datetime import date, timedelta

from fleet.calc.duedates import Spell
from fleet.calc.units import Quantity
from inspections.calc.visits import Overhaul, Reading
from inspections.calc.whereabouts import belongings

DAY = timedelta(1)
START = date(2020, 1, 1)
P, Q = 101, 202


def day(number):
    return START + number * DAY


def visit(on, ref="W", method="bench"):
    read = Reading(Quantity.of(100, "psig"))
    return Overhaul(ref, day(on), read, read, method=method)


def stay(position, went_in, came_out=None):
    return Spell(1, position, day(went_in), None if came_out is None else day(came_out))


def told(visits, *spells):
    """Position and first day of both stays of each visit."""
    places = [(b.found_of, b.left_of) for b in belongings(visits, spells)]
    return [
        tuple(s and (s.position, (s.installed_on - START).days) for s in pair) for pair in places
    ]


def test_a_device_tested_where_it_stands_tells_of_that_stay_alone():
    assert told([visit(50)], stay(P, 0)) == [((P, 0), (P, 0))]


def test_overhauled_between_two_positions_it_was_found_for_one_and_left_for_the_other():
    assert told([visit(40)], stay(P, 0, 30), stay(Q, 60)) == [((P, 0), (Q, 60))]


def test_out_and_in_again_on_one_day_is_still_two_stays():
    assert told([visit(30)], stay(P, 0, 30), stay(P, 30)) == [((P, 0), (P, 30))]
    assert told([visit(30)], stay(P, 0, 30), stay(Q, 30)) == [((P, 0), (Q, 30))]


def test_what_a_new_device_was_found_at_tells_of_no_position():
    assert told([visit(0)], stay(P, 0)) == [(None, (P, 0))]
    assert told([visit(-9)], stay(P, 0)) == [(None, (P, 0))]


def test_what_a_device_in_the_shop_was_left_at_tells_of_none_yet():
    assert told([visit(40)], stay(P, 0, 30)) == [((P, 0), None)]


def test_only_the_first_record_after_it_came_out_tells_how_it_came_out():
    visits = [visit(35, "W-1"), visit(50, "W-2")]
    assert told(visits, stay(P, 0, 30), stay(Q, 60)) == [((P, 0), None), (None, (Q, 60))]


def test_what_it_was_left_at_in_one_position_is_not_what_went_into_the_next():
    assert told([visit(10)], stay(P, 0, 30), stay(Q, 60)) == [((P, 0), (P, 0))]


def test_work_in_place_on_the_day_of_a_move_tells_of_where_it_then_stands():
    in_place = [visit(30, method="in_place_assist")]
    assert told(in_place, stay(P, 0, 30), stay(Q, 30)) == [((Q, 30), (Q, 30))]
    assert told(in_place, stay(P, 0, 30)) == [((P, 0), (P, 0))]
    assert told(in_place, stay(P, 30)) == [((P, 30), (P, 30))]


def test_a_visit_keeps_only_what_tells_of_the_stay():
    (one,) = belongings([visit(40)], [stay(P, 0, 30), stay(Q, 60)])
    out, back = one.within([stay(P, 0, 30)]), one.within([stay(Q, 60)])
    assert out.as_found and out.as_left is None and out.elsewhere == "as_left"
    assert back.as_left and back.as_found is None and back.elsewhere == "as_found"
    assert one.within([stay(P, 100)]) is None
    assert one.within([stay(P, 0, 30), stay(Q, 60)]) is one.visit


def walked(visits, spells):
    """The same by walking: from a bench visit day by day backwards until the device was fitted or
    handled, and forwards likewise. Days of a move are left out: tests above settle them."""
    fitted = {}
    for spell in spells:
        on = spell.installed_on
        while on < (spell.removed_on or day(400)):
            fitted[on] = spell
            on += DAY
    handled = {one.on for one in visits if one.on not in fitted}

    def walk(on, step):
        while day(-50) <= on <= day(400):
            on += step
            if on in handled:
                return None
            if on in fitted:
                return fitted[on]
        return None

    return [
        (fitted[one.on], fitted[one.on])
        if one.on in fitted
        else (walk(one.on, -DAY), walk(one.on, DAY))
        for one in visits
    ]


def test_any_history_says_what_walking_it_day_by_day_says():
    chance = random.Random(11)
    for _ in range(300):
        marks = sorted(chance.sample(range(0, 300, 3), 6))
        spells = [
            stay(chance.choice([P, Q]), a, b) for a, b in zip(marks[::2], marks[1::2], strict=True)
        ]
        days = sorted(chance.sample([n for n in range(-20, 330) if n % 3 == 1], 5))
        visits = [visit(n, f"W-{n}") for n in days]
        given = belongings(chance.sample(visits, 5), chance.sample(spells, 3))
        assert [(b.found_of, b.left_of) for b in given] == walked(visits, spells)
