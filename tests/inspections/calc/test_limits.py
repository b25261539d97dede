"""Figures against limits: exact, in the unit typed, in words. The limits are invented; the units
are converted by definition (1 in = 25.4 mm, NIST SP 811)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.calc.units import UnitsError
from inspections.calc.limits import IN, OVER, UNDER, UNREAD, judge, key_of, read_limit


def limit(low="", high="", source="maker's drawing"):
    return read_limit("spring", "free height", low, high, source)


@pytest.mark.parametrize(
    ("figure", "low", "high", "kind", "words"),
    [
        ("118 mm", "118.5 mm", "", UNDER,
         "118 mm: 0.5 mm under the low limit of 118.5 mm (maker's drawing)"),
        ("118.5 mm", "118.5 mm", "", IN, "118.5 mm: within 118.5 mm or more (maker's drawing)"),
        ("0.006 in", "", "0.005 in", OVER,
         "0.006 in: 0.001 in over the high limit of 0.005 in (maker's drawing)"),
        ("3/32 in", "1/16 in", "1/8 in", IN,
         "3/32 in: within 1/16 in to 1/8 in (maker's drawing)"),
        ("5/32 in", "1/16 in", "1/8 in", OVER,
         "5/32 in: 1/32 in over the high limit of 1/8 in (maker's drawing)"),
        ("0.6 %", "", "0.5 %", OVER, "0.6 %: 0.1 % over the high limit of 0.5 % (maker's drawing)"),
    ],
)  # fmt: skip
def test_a_figure_is_held_against_its_limit(figure, low, high, kind, words):
    judged = judge(figure, limit(low, high))
    assert (judged.kind, judged.words) == (kind, words)


@pytest.mark.parametrize(("figure", "kind"), [("1 in", IN), ("25.4 mm", IN), ("25.39 mm", UNDER)])
def test_another_unit_of_length_is_converted_exactly(figure, kind):
    assert judge(figure, limit("25.4 mm")).kind == kind


@pytest.mark.parametrize("figure", ["118", "about 118 mm", "118 psig", "5/0 in", "", "21 1/2/3 mm"])
def test_what_cannot_be_held_against_it_is_never_guessed(figure):
    judged = judge(figure, limit("118.5 mm"))
    assert judged.kind == UNREAD and judged.wants_answer and not judged.is_out
    assert "118.5 mm or more (maker's drawing)" in judged.words


@given(figure=st.integers(0, 10_000), low=st.integers(0, 10_000), width=st.integers(0, 1000))
def test_in_under_and_over_share_the_line_between_them(figure, low, width):
    high = low + width
    kind = judge(f"{figure} mm", limit(f"{low} mm", f"{high} mm")).kind
    assert kind == (UNDER if figure < low else OVER if figure > high else IN)


def test_a_limit_that_cannot_be_read_says_so():
    with pytest.raises(UnitsError):
        limit("about 118")


def test_a_part_and_its_measure_are_one_thing_however_spelled():
    assert key_of("Spring", "Free height") == key_of(" spring ", "free-height")
    assert key_of("spring", "free height") != key_of("spring", "solid height")
