"""Every form, every slip of the finger, and hostile text, against other ways of reading."""

import re
import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.calc.registry import SPELLINGS, UNITS
from fleet.calc.units import UnitsError, parse_quantity

EVERY = tuple({unit.dimension: None for unit in UNITS.values()})
VULGAR = {  # Unicode, number forms: their names say their values
    "½": Fraction(1, 2), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3), "¼": Fraction(1, 4),
    "¾": Fraction(3, 4), "⅕": Fraction(1, 5), "⅖": Fraction(2, 5), "⅗": Fraction(3, 5),
    "⅘": Fraction(4, 5), "⅙": Fraction(1, 6), "⅚": Fraction(5, 6), "⅛": Fraction(1, 8),
    "⅜": Fraction(3, 8), "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
}  # fmt: skip


def read(text, **named):
    return parse_quantity(text, EVERY, **named)


spellings = st.sampled_from(sorted(SPELLINGS))
signs = st.sampled_from(["", "+", "-", "−"])
whole = st.integers(0, 9_999)


@st.composite
def spelled_numbers(draw):
    """A number as typed without its sign, and the value its construction gives it."""
    form = draw(st.integers(0, 5))
    if form == 0:
        n = draw(whole)
        return str(n), Fraction(n)
    if form == 1:
        n, digits = draw(whole), draw(st.text("0123456789", min_size=1, max_size=6))
        mark = draw(st.sampled_from(".," if len(digits) != 3 else "."))
        return f"{n}{mark}{digits}", n + Fraction(int(digits), 10 ** len(digits))
    if form == 2:
        vulgar = draw(st.sampled_from(sorted(VULGAR)))
        n = draw(st.none() | whole)
        joint = draw(st.sampled_from(["", " ", "-"]))
        return (
            (vulgar, VULGAR[vulgar]) if n is None else (f"{n}{joint}{vulgar}", n + VULGAR[vulgar])
        )
    bottom = draw(st.integers(2, 128))
    if form == 3:
        top = draw(whole)
        return f"{top}/{bottom}", Fraction(top, bottom)
    top, n = draw(st.integers(0, bottom - 1)), draw(whole)
    joint = draw(st.sampled_from([" ", "-", "  "]))
    return f"{n}{joint}{top}/{bottom}", n + Fraction(top, bottom)


@given(spelled_numbers(), signs, spellings, st.sampled_from(["", " ", "\u00a0"]), st.booleans())
def test_every_form_reads_as_the_number_it_says(number, sign, spelling, gap, shout):
    word, value = number
    text = f"{sign}{word}{gap}{spelling.upper() if shout else spelling}"
    quantity = read(f" {text}\n")
    assert quantity.magnitude == (value if sign in ("", "+") else -value)
    assert quantity.unit == SPELLINGS[spelling].symbol
    assert quantity.text == text
    assert read(quantity.text) == quantity


@given(spelled_numbers(), signs, spellings, st.sampled_from([None, ".", ","]))
def test_the_kept_text_alone_always_says_the_same(number, sign, header, mark):
    try:
        quantity = read(f"{sign}{number[0]}", header_unit=header, decimal_mark=mark)
    except UnitsError:
        return
    again = read(quantity.text)
    assert (again, again.unit, again.text) == (quantity, quantity.unit, quantity.text)
    assert again.assumed_gauge == quantity.assumed_gauge


GRAMMAR = '0123456789 .,/-+−⁄½⅜ "()*e%²\u00a0\tpsigbarkPacmnhotuf'
REAL = ["150 psig", "1 3/8 in", "-7 notches", "15 1/4 turns", "10.3 barg", "1⅜ in", "21 1/2 in"]


@st.composite
def slips_of_the_finger(draw):
    """A real text with a character put in, lost, doubled or swapped."""
    text = draw(st.sampled_from(REAL))
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(text)))
        text = (
            text[:at] + draw(st.sampled_from(["", *GRAMMAR])) + text[at + draw(st.integers(0, 1)) :]
        )
    return text


def plain_reading(text):
    """Another reading, by splitting: the sum of the parts of what stands before the unit."""
    number = re.match(r"[^A-Za-z%\"°″”']*", text.strip().replace("\u00a0", " "))[0].strip()
    negative = number[:1] in "-−" and number[:1] != ""
    for vulgar, value in VULGAR.items():
        number = number.replace(vulgar, f" {value}")
    number = number.replace("⁄", "/").replace(",", ".").lstrip("+-−")
    value = sum(Fraction(part) for part in re.split(r"[ -]+", number) if part)
    return -value if negative else value


@settings(max_examples=300)
@given(st.text(max_size=40) | st.text(GRAMMAR, max_size=30) | slips_of_the_finger())
def test_hostile_text_is_refused_or_means_what_it_says(text):
    try:
        quantity = read(text)
    except UnitsError as refused:
        assert len(refused.typed) <= 41 and refused.typed.isprintable() and refused.expected
        return
    assert quantity.text == text.strip()
    assert quantity.magnitude == plain_reading(text)
    assert read(quantity.text) == quantity


@pytest.mark.parametrize(
    "pattern", ["9", " ", "1 ", "1,", "1/", "9**", "½", "-", "psig ", "\x00", "1 3/8 in", "1.1"]
)
def test_ten_megabytes_are_refused_at_once(pattern):
    text = pattern * (10_000_000 // len(pattern))
    started = time.perf_counter()
    with pytest.raises(UnitsError) as refused:
        read(text)
    assert time.perf_counter() - started < 1
    assert len(refused.value.typed) <= 41
    assert len(str(refused.value)) < 500


@pytest.mark.parametrize("pattern", ["1", "1 ", "1,", "1.1", "1/", " ", "½", "1-"])
def test_the_longest_text_allowed_costs_no_more_than_a_short_one_many_times(pattern):
    text = f"1{(pattern * 60)[:58]}x"
    started = time.perf_counter()
    for _ in range(100):
        with pytest.raises(UnitsError):
            read(text)
    assert time.perf_counter() - started < 1  # a pattern that backtracks takes minutes
