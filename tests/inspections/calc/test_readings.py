"""Put back exactly? Fractions, datums and directions as the shop says them."""

from datetime import date
from fractions import Fraction

import pytest

from fleet.calc.units import LENGTH, NOTCHES, TURNS, parse_quantity
from inspections.calc.readings import (
    DatumChange,
    SettingValue,
    beyond,
    compare,
    resolution_of,
    shown,
    signed,
)

STOP = "from ring touching the disc holder"


def value(text, datum=STOP):
    if text is None:
        return SettingValue(None, datum, NOTCHES)
    quantity = parse_quantity(text, (NOTCHES, TURNS, LENGTH))
    return SettingValue(quantity, datum, quantity.dimension)


@pytest.mark.parametrize(
    ("as_left", "target", "setting", "positive", "words"),
    [
        ("-7 notches", "-7 notches", "lower_ring", "up", "equal"),
        ("-9 notches", "-7 notches", "lower_ring", "up",
         "off by 2 notches (lower ring), below target"),
        ("-6 notches", "-7 notches", "lower_ring", "up",
         "off by 1 notch (lower ring), above target"),
        ("9 notches", "7 notches", "upper_ring", "down",
         "off by 2 notches (upper ring), below target"),
        ("1 5/16 in", "1 3/8 in", "upper_ring", "up",
         "off by 1/16 in (upper ring), below target"),
        ("15 1/2 turns", "15 1/4 turns", "compression_screw", "in",
         "off by 1/4 turn (compression screw), further in than target"),
        ("15 turns", "15 1/4 turns", "compression_screw", "out",
         "off by 1/4 turn (compression screw), further in than target"),
        ("8 notches", "7 notches", "lower_ring", "",
         "off by 1 notch (lower ring), more than target"),
    ],
)  # fmt: skip
def test_words(as_left, target, setting, positive, words):
    assert compare(value(as_left), value(target), setting, None, positive).words == words


# Resolutions by common practice: one notch, 1/64 in, 1/8 turn.
@pytest.mark.parametrize(
    ("as_left", "target", "kind"),
    [
        ("8 mm", "5/16 in", "equal"),  # 7.9375 mm: 0.0625 mm off, 1/64 in is 0.397 mm
        ("21/64 in", "5/16 in", "off"),
        ("41/128 in", "5/16 in", "equal"),
        ("15 5/16 turns", "15 1/4 turns", "equal"),
        ("15 3/8 turns", "15 1/4 turns", "off"),
        ("0.3125 in", "5/16 in", "equal"),
    ],
)
def test_equal_to_the_resolution_of_the_method(as_left, target, kind):
    assert compare(value(as_left), value(target), "upper_ring").kind == kind


def test_the_setting_points_own_resolution_outranks_the_default():
    coarse = parse_quantity("1/16 in", (LENGTH,))
    assert compare(value("11/32 in"), value("5/16 in"), "upper_ring", coarse).kind == "equal"


def test_difference_is_exact_and_in_the_unit_of_the_target():
    found = compare(value("10 mm"), value("3/8 in"), "upper_ring")
    assert found.kind == "off"
    assert found.difference.unit == "in"
    assert found.difference.magnitude == Fraction(10) / Fraction("25.4") - Fraction(3, 8)
    assert found.words == "off by 0.0187 in (upper ring), more than target"


@pytest.mark.parametrize(
    ("as_left", "target", "why"),
    [
        (value("7 notches"), value("7 notches", "from the flat on the seat"), "datum was"),
        (value("7 notches", ""), value("7 notches"), "no datum recorded for as-left"),
        (value("7 notches"), value("7 notches", " "), "no datum recorded for target"),
        (value(None), value("7 notches"), "as-left not recorded"),
        (value("7 notches"), value(None), "target not recorded"),
        (value("7 notches"), value("5/16 in"), "measured in length, now in notches"),
        (SettingValue(value("1 in").quantity, STOP, NOTCHES), value("7 notches"), "read as"),
    ],
)
def test_what_does_not_compare_says_why_and_has_no_difference(as_left, target, why):
    found = compare(as_left, target, "lower_ring")
    assert (found.kind, found.difference) == ("not_comparable", None)
    assert found.words.startswith("not comparable: ") and why in found.words


def test_a_change_of_datum_that_is_known_is_told_with_its_day_and_cause():
    changed = DatumChange(date(2024, 5, 20), "machining")
    found = compare(
        value("7 notches", "the lip"), value("7 notches"), "lower_ring", None, "", changed
    )
    assert found.words == (
        "not comparable: datum changed on 2024-05-20 by machining:"
        " was from ring touching the disc holder, now the lip"
    )
    same = compare(value("7 notches"), value("7 notches"), "lower_ring", None, "", changed)
    assert same.words == "equal"  # the datum is the same one, whatever happened to it


@pytest.mark.parametrize(
    ("typed", "datum", "words"),
    [
        ("3 notches", STOP, ""),
        ("9 notches", STOP, ""),
        ("2 notches", STOP, "under the limit of 3 notches"),
        ("10 notches", STOP, "over the limit of 9 notches"),
        ("10 notches", "another", ""),  # a limit is stated in its own datum
    ],
)
def test_limits_of_a_setting_are_inclusive_and_hold_in_their_datum(typed, datum, words):
    assert beyond(value(typed, datum), value("3 notches"), value("9 notches")) == words


def test_case_and_spacing_do_not_make_another_datum():
    other = value("7 notches", "From  ring touching the DISC holder ")
    assert compare(value("7 notches"), other, "lower_ring").kind == "equal"


def test_quantities_in_sentences():
    quantity = parse_quantity("-1 3/8 in", (LENGTH,))
    assert (shown(quantity), signed(quantity), signed(-quantity)) == (
        "-1 3/8 in",
        "-1 3/8 in",
        "+1 3/8 in",
    )


def test_a_resolution_of_another_measure_is_not_taken_for_this_one():
    """A ring once counted in notches and now measured: each by its own, and nothing breaks."""
    notch, sixteenth = parse_quantity("1 notch", (NOTCHES,)), parse_quantity("1/16 in", (LENGTH,))
    assert resolution_of(sixteenth, notch) == parse_quantity("1/64 in", (LENGTH,))
    assert resolution_of(notch, sixteenth) == notch
    assert resolution_of(sixteenth, sixteenth) == sixteenth
