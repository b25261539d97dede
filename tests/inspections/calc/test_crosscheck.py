"""Counted and measured: the figures of the trade, and when a mismatch is said.

Height per notch = lead / notches: 16 threads/in and 32 notches give 0.00195 in, so "+155 notches"
are 0.303 in (thread arithmetic; the count is the factory setting of NRC IN 86-05).
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.units import LENGTH, NOTCHES, TURNS, Quantity, parse_quantity
from inspections.calc.crosscheck import Method, Thread, height_of, mismatch
from inspections.calc.readings import SettingValue, shown

RING = Thread(Quantity.of(Fraction(1, 16), "in"), 32)
SCREW = Thread(Quantity.of(Fraction(1, 8), "in"))


def q(text):
    return parse_quantity(text, (NOTCHES, TURNS, LENGTH))


def value(text, datum="stop"):
    quantity = q(text) if text else None
    return SettingValue(quantity, datum, quantity.dimension if quantity else NOTCHES)


def method(before, after, positive="up", **datums):
    return Method(
        value(before, datums.get("was", "stop")), value(after, datums.get("now", "stop")), positive
    )


def test_height_of_a_notch_and_of_155():
    one, many = height_of(q("1 notch"), RING), height_of(q("155 notches"), RING)
    assert one.magnitude == Fraction(1, 512) and round(float(one.magnitude), 5) == 0.00195
    assert round(float(many.magnitude), 3) == 0.303
    assert shown(many, 3) == "0.303 in"


def test_height_of_turns_is_turns_times_lead():
    assert height_of(q("15 1/4 turns"), SCREW) == Quantity.of(Fraction(61, 32), "in")


def test_what_the_thread_does_not_say_is_not_guessed():
    assert height_of(q("3 notches"), SCREW) is None  # nobody said how many notches it has
    assert height_of(q("1/8 in"), RING) is None
    assert mismatch(method("1 notch", "9 notches"), method("1 in", "9 in"), SCREW) == ""


@pytest.mark.parametrize(
    ("counted", "measured", "thread"),
    [
        (method("0 notches", "155 notches"), method("0 in", "0.303 in"), RING),
        (method("10 turns", "12 turns", "in"), method("2 in", "1 3/4 in", "out"), SCREW),
        (method("10 turns", "12 turns", "in"), method("2 in", "1 3/4 in", "up"), SCREW),
        (method("5 notches", "5 notches"), method("1/4 in", "17/64 in"), RING),
        (method("10 turns", "12 turns", "in"), method("2 in", "44.45 mm", "out"), SCREW),
    ],
)
def test_methods_that_agree_within_a_step_of_each_say_nothing(counted, measured, thread):
    """Steps by common practice: one notch, 1/64 in, 1/8 turn."""
    assert mismatch(counted, measured, thread) == ""


@pytest.mark.parametrize(
    ("counted", "measured", "words"),
    [
        (method("10 turns", "12 turns", "in"), method("2 in", "1 1/2 in", "out"),
         "+2 turns should change the height by -1/4 in, but it changed by -1/2 in"),
        (method("10 turns", "12 turns", "in"), method("2 in", "2 1/4 in", "out"),
         "+2 turns should change the height by -1/4 in, but it changed by +1/4 in"),
        (method("10 turns", "12 turns", ""), method("2 in", "1 1/2 in", ""),
         "+2 turns should change the height by 1/4 in, but it changed by 1/2 in"),
    ],
)  # fmt: skip
def test_methods_that_do_not_say_so_in_words(counted, measured, words):
    assert mismatch(counted, measured, SCREW) == f"{words}: read both again"


@pytest.mark.parametrize(
    ("counted", "measured"),
    [
        (method("10 turns", "12 turns", was="thread", now="nut"), method("2 in", "9 in")),
        (method("10 turns", "12 turns"), method("2 in", "9 in", was="lip", now="cap")),
        (method("", "12 turns"), method("2 in", "9 in")),
        (method("10 turns", "12 turns"), method("2 in", "")),
        (method("10 turns", "12 turns", was="", now=""), method("2 in", "9 in")),
    ],
)
def test_nothing_is_held_together_across_a_datum_or_a_missing_reading(counted, measured):
    assert mismatch(counted, measured, SCREW) == ""


@given(st.fractions(-20, 20, max_denominator=64), st.integers(1, 60))
def test_a_height_that_follows_the_thread_exactly_never_disagrees(turns, notches):
    thread = Thread(SCREW.lead, notches)
    moved = Quantity.of(turns * notches, "notches")
    before, after = Quantity.of(5, "notches"), Quantity.of(5, "notches") + moved
    low, grew = Quantity.of(1, "in"), Quantity.of(1, "in") + Quantity.of(turns / 8, "in")
    counted = Method(SettingValue(before, "s", NOTCHES), SettingValue(after, "s", NOTCHES), "up")
    measured = Method(SettingValue(low, "s", LENGTH), SettingValue(grew, "s", LENGTH), "up")
    assert mismatch(counted, measured, thread) == ""
