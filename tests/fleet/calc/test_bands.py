"""A tolerance that somebody writes down, checked before a verdict rests on it."""

import pytest

from fleet.calc import library
from fleet.calc.bands import checked_tolerance, same_tolerance
from fleet.calc.parameters import RuleError

SHEET = ("basis", "bands", "atmosphere")


def bands(*rows, **more):
    return {"basis": "gauge", "bands": list(rows), **more}


def row(low="-3 %", high="3 %", **more):
    return {"low": low, "high": high, **more}


@pytest.mark.parametrize("code", library.tolerances())
def test_what_the_codes_say_could_be_written_down(code):
    """Every tolerance of the library, whose sources it names, passes the same checks."""
    known = library.tolerances()[code]
    definition = {name: part for name, part in known.definition.items() if name in SHEET}
    assert same_tolerance(checked_tolerance(code, definition), known)


@pytest.mark.parametrize(
    ("definition", "part"),
    [
        ({}, "bands"),
        (bands(), "bands"),
        (bands("x"), "band 1"),
        (bands({"low": "-3 %"}), "band 1"),
        (bands(row(), {"low": "-3 %", "high": 3}), "band 2"),
        (bands(row(width="3 %")), "band 1"),
        (bands(row(system="imperial")), "band 1"),
        (bands(row(low="3 %")), "low"),
        (bands(row(high="-3 %")), "high"),
        (bands(row(up_to="70 psig"), row(low="3 %")), "band 2"),
        (bands(row(floor="0 psig")), "floor"),
        (bands(row(low="-3 widths")), "bands"),
        (bands(row(), basis="vacuum"), "basis"),
        (bands(row(), basis="absolute"), "atmosphere"),
        (bands(row(), atmosphere="14.7 psia"), "atmosphere"),
        (bands(row(), row(up_to="70 psig")), "bands"),  # never reached
        (bands(row(up_to="70 psig"), row(up_to="70 psig")), "bands"),
        (bands(row(), row(system="us")), "bands"),
    ],
)
def test_what_cannot_be_is_named_by_its_part(definition, part):
    with pytest.raises(RuleError) as error:
        checked_tolerance("ours", definition)
    assert error.value.field == part


def test_rows_of_two_systems_stand_beside_each_other():
    """As ASME VIII UG-134(d) has them: psi and kPa in rows of their own."""
    rows = [row(system=s, up_to=p) for s, p in (("us", "70 psig"), ("metric", "500 kPag"))]
    assert checked_tolerance("ours", bands(*rows, row(system="us"), row(system="metric")))


def test_the_same_in_other_words_is_the_same():
    one = checked_tolerance("a", bands(row("-2 %", "2 %", floor="0.1 barg")))
    other = checked_tolerance("b", bands(row("-2.0%", "2 %", floor="10 kPag")))
    assert same_tolerance(one, other)
    assert not same_tolerance(one, checked_tolerance("c", bands(row("-2 psig", "2 psig"))))
    assert not same_tolerance(one, checked_tolerance("c", bands(row("-2 %", "2 %"))))
