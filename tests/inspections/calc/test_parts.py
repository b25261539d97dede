"""Words of the trade: every kind of device has its own, and no figure in them is judged by."""

import pytest

from fleet.models import Device
from inspections.calc.limits import key_of
from inspections.calc.parts import TRADES, trade_of

KINDS = [kind.value for kind in Device.Kind]


def test_every_kind_of_device_has_its_words():
    assert sorted(TRADES) == sorted(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_words_are_short_enough_for_their_boxes_and_stand_once(kind):
    trade = trade_of(kind)
    for words, most in ((trade.parts, 80), (trade.conditions, 200), (trade.actions, 200)):
        assert words and len(set(words)) == len(words)
        assert max(map(len, words)) <= most
    assert {usual.part for usual in trade.usual} <= set(trade.parts)
    keys = [key_of(usual.part, usual.measure) for usual in trade.usual]
    assert len(set(keys)) == len(keys)


def test_a_disc_and_a_pin_have_no_seat_to_lap():
    assert {kind for kind in KINDS if not trade_of(kind).is_lapped} == {"rupture_disc", "pin"}


def test_lever_play_is_a_hint_that_names_its_source():
    """About 1/16 in or as the maker says: common practice."""
    lever = next(u for u in trade_of("spring").usual if (u.part, u.measure) == ("lever", "play"))
    assert "1/16 in" in lever.hint and lever.source == "common practice"


def test_a_lever_works_at_three_quarters_of_set():
    """46 CFR 54.15-10(c)."""
    usual = trade_of("spring").usual
    lever = next(u for u in usual if (u.part, u.measure) == ("lever", "lifts at"))
    assert "75 %" in lever.hint and "54.15-10(c)" in lever.source
