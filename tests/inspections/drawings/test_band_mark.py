"""The band mark: one scale for a column, the reading never moved to where it fits."""

from fractions import Fraction as F

import pytest

from fleet.drawings.words import percent_words
from inspections.drawings.band_mark import band_mark
from tests.fleet.drawings.reading import by_class, parsed, percent


def test_zero_is_the_middle_and_the_scale_is_the_same_for_every_row():
    narrow = parsed(band_mark(F(-1), F(1), F(0), F("0.5")))
    wide = parsed(band_mark(F(0), F(10), F(0), F("0.5")))
    places = [percent(by_class(root, "found")[0], "cx") for root in (narrow, wide)]
    assert places == [50, 50]
    assert len({by_class(root, "left")[0].get("cx") for root in (narrow, wide)}) == 1


def test_published_deviations_stand_on_the_right_side_of_their_band():
    """As-found deviations of LER 388/2009-001 (public US plant event report): 1123 and 1165 psig
    against 1175 and 1205, limit +/-3 %; LER 335/2002-001: V8209 1034.7 against 1025.3, passing
    +1/-3."""
    for pop, cdtp in ((1123, 1175), (1165, 1205)):
        root = parsed(band_mark(F(-3), F(3), F(pop - cdtp, cdtp) * 100, None))
        assert by_class(root, "outside") and not by_class(root, "left")
    passing = (F("1034.7") - F("1025.3")) / F("1025.3") * 100
    assert not by_class(parsed(band_mark(F(-3), F(1), passing, None)), "outside")


def test_a_reading_on_the_limit_is_inside():
    assert not by_class(parsed(band_mark(F(-3), F(3), F(3), F(-3))), "outside")


def test_a_reading_beyond_the_scale_is_an_arrow_and_keeps_its_figure():
    root = parsed(band_mark(F(-3), F(3), F("-14.2"), F(0)))
    assert by_class(root, "beyond") and not by_class(root, "found")
    assert "as found −14.2 %" in root.get("aria-label")


def test_no_lift_is_a_bound_and_not_a_reading():
    """NRC IN 96-03 prints as-found values of > +6.1 and > +5.9 % beside an exact +4.3 %."""
    root = parsed(band_mark(F(-3), F(3), F("6.1"), F(0), censored=True))
    assert by_class(root, "censored") and not by_class(root, "found")
    assert "no lift at +6.1 %" in root.get("aria-label")


def test_a_missing_reading_is_said_and_not_drawn():
    root = parsed(band_mark(None, None, None, None))
    assert not by_class(root, "found") and not by_class(root, "left") and not by_class(root, "band")
    assert root.get("aria-label") == "as found not recorded, as left not recorded, no band"


@pytest.mark.parametrize(
    "value, words",
    [
        (F("0.05"), "+0.1 %"),  # halves away from zero
        (F("-0.05"), "−0.1 %"),
        (F("-0.04"), "0.0 %"),
        (F(-1123 + 1175, -1175) * 100, "−4.4 %"),
        (None, "not recorded"),
    ],
)
def test_percentages_round_halves_away_from_zero(value, words):
    assert percent_words(value) == words
